/** What hover says of the fields in reach: on a leg those at its worst point, on a climb the height that gets home. */
import { HIGHEST_GLIDE_M } from '../flight/index.ts';
import {
  type FieldAsked,
  finishInReachFrom,
  homeInReachAt,
  homeOf,
  stretchesWithoutField,
  worstPointOf,
} from '../plan/reach.ts';
import type { Show } from '../plan/show.ts';
import type { ClimbEvaluation, LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import { escapeMarkdown } from '../plan/text.ts';
import { partsText } from '../rules/reach-words.ts';
import { shortRunwayText } from './hover-landing.ts';

/** Fields listed at most: a pilot looks for one or two. */
const MOST_FIELDS = 6;

function runwayText({ meaning }: FieldAsked): string {
  const runways = meaning.runways.map(
    ({ text, lengthM, surface }) =>
      `${text}${lengthM === undefined ? '' : ` ${Math.floor(lengthM + 1e-6)} m`}${surface ? ` ${surface}` : ''}`,
  );
  return escapeMarkdown(runways.join(', '));
}

function fieldRow(field: FieldAsked, distanceM: number, spare: string, task: TaskEvaluation, with_: Show): string {
  const cells = [
    escapeMarkdown(field.meaning.name),
    with_.distance(distanceM),
    spare,
    runwayText(field),
    escapeMarkdown(field.meaning.frequencies.map(({ text }) => text).join(', ')),
    shortRunwayText(field.meaning, task, with_),
  ];
  return `| ${cells.join(' | ')} |`;
}

/** The fields in reach of a leg; undefined where they are not known. */
export function reachSection(leg: LegEvaluation, task: TaskEvaluation, with_: Show): string | undefined {
  const worst = worstPointOf(leg, task);
  const stretches = stretchesWithoutField(leg, task);
  if (!worst || !stretches) return undefined;
  const lines: string[] = [];
  const at = `${with_.distance(worst.xM)} after ${escapeMarkdown(leg.fromName)}, at ${with_.altitude(worst.altitudeM, 'down')}`;
  const head = ['| field | away | to spare | runways | frequency | least crosswind |', '|---|---:|---:|---|---|---|'];
  if (worst.inReach.length > 0) {
    const nearest = worst.inReach.reduce((one, other) => (other.distanceM < one.distanceM ? other : one));
    const best = worst.inReach[0];
    const which =
      best && best !== nearest
        ? ` Nearest: ${escapeMarkdown(nearest.field.meaning.name)}; most to spare: ${escapeMarkdown(best.field.meaning.name)}.`
        : '';
    lines.push(
      `**Fields in reach** at the worst point, ${at}:${which}`,
      [
        ...head,
        ...worst.inReach
          .slice(0, MOST_FIELDS)
          .map(({ field, distanceM, spareM }) => fieldRow(field, distanceM, with_.height(spareM, 'down'), task, with_)),
      ].join('\n'),
    );
    const more = worst.inReach.length - MOST_FIELDS;
    if (more > 0) lines.push(`and ${more} more`);
  } else if (worst.least) {
    const { field, distanceM, requiredM } = worst.least;
    const missing = `**−${with_.height(requiredM - worst.altitudeM, 'up')}**`;
    lines.push(
      `**No field in reach** at the worst point, ${at}. The one that comes closest:`,
      [...head, fieldRow(field, distanceM, missing, task, with_)].join('\n'),
    );
  } else {
    const highest = with_.altitude(HIGHEST_GLIDE_M, 'down');
    lines.push(`**No field in reach**: none is known that can be reached from ${highest} or below.`);
  }
  if (stretches.length > 0) {
    const { length, between } = partsText(stretches, leg.result?.distanceM, with_);
    lines.push(`Without a field in reach: ${length}, from ${between.join(' and from ')}.`);
  }
  const from = finishInReachFrom(leg, task);
  if (from !== undefined) {
    const name = escapeMarkdown(leg.toName);
    if (from === null) lines.push(`${name} is not in reach with the reserve at the end of this leg.`);
    else if (from === 0) lines.push(`${name} is in reach with the reserve on the whole of this leg.`);
    else
      lines.push(
        `**Point of no choice**: ${name} is in reach with the reserve from ${with_.distance(from)} after ${escapeMarkdown(leg.fromName)} on, and not before.`,
      );
  }
  return lines.join('\n\n');
}

/** The height of a climb from which home itself is in reach; undefined where it is not known. */
export function homeSection(
  climb: ClimbEvaluation,
  leg: LegEvaluation,
  task: TaskEvaluation,
  with_: Show,
): string | undefined {
  const altitudeM = homeInReachAt(climb, leg, task);
  const home = homeOf(task);
  if (altitudeM === undefined || !home) return undefined;
  const name = escapeMarkdown(home.meaning.name);
  if (altitudeM === null) return `home, ${name}, is in reach from no height here`;
  const from = with_.altitude(altitudeM, 'up');
  const over = climb.toAltitudeM - altitudeM;
  const ends =
    over >= 0
      ? `the climb ends ${with_.height(over, 'down')} above that`
      : `the climb ends ${with_.height(-over, 'up')} below that: until the next climb other fields have to do`;
  return `home, ${name}, is in reach with the reserve from **${from}** on; ${ends}`;
}
