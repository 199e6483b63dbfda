/**
 * The text of a new plan, from a few answers. It is in the standard layout, and its climbs are those that its legs need
 * in its weather, found by the evaluation that every plan goes through.
 */
import { parseFile } from '../../grammar/file.ts';
import { formatFile } from '../../grammar/format.ts';
import { type Unit, unit } from '../../grammar/units.ts';
import type { Namespace } from '../../grammar/vocabulary.ts';
import { stretchesWithoutField } from '../plan/reach.ts';
import { altitudeIn, type TaskEvaluation } from '../plan/task.ts';
import { understand } from '../plan/understand.ts';
import { type Defined, scopeOf, setFile, type Workspace } from '../plan/workspace.ts';
import { THIN_M } from '../rules/thin-margin.ts';
import { blockOf, blockText } from './fixes/blocks.ts';
import { relativePath } from './fixes/paths.ts';
import { nameText, quantityText, steppedSi } from './fixes/writing.ts';
import { type Chosen, entryOf, faultOfAnswer, holdsTask } from './new-text.ts';

/** What a pilot answers. Texts are as a plan writes them: `82 kg`, `3200 ft MSL`. */
export interface PlanAnswers {
  readonly name: string;
  readonly aircraft: Chosen | undefined;
  readonly pilot: string | undefined;
  /** One that is written already, or the date of a day whose weather is still to be filled in. */
  readonly weather: Chosen | { readonly date: string };
  readonly reserve: Chosen | undefined;
  readonly limits: Chosen | undefined;
  /** When it takes off: `12:00Z`. */
  readonly takeoff: string | undefined;
  readonly start: Chosen;
  readonly height: string;
  readonly turns: readonly Chosen[];
  readonly finish: Chosen;
}

export type NewText = { readonly text: string } | { readonly refused: string };

const FEET = unit('ft');

/** Climbs are written in whole steps of the unit that the start is written in. */
const STEPS: Readonly<Record<string, number>> = { ft: 100, m: 50 };

/** To have a field in reach, no climb is made higher than what arrives by more than this, m, whatever the day gives. */
const MOST_MORE_M = 2000;

/** A name that nothing in scope has yet. */
function freeName(workspace: Workspace, uri: string, namespace: Namespace, wanted: string): string {
  const file = workspace.files.get(uri);
  const taken = new Set(
    file
      ? scopeOf(workspace, file).files.flatMap(({ syntax }) =>
          syntax.trees.flatMap(({ form, name }) => (form?.namespace === namespace && name ? [name.text] : [])),
        )
      : [],
  );
  for (let i = 1; ; i++) {
    const name = i === 1 ? wanted : `${wanted}-${i}`;
    if (!taken.has(name)) return name;
  }
}

const DAYS = ['Sunday', 'Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday'];

/** The day of the week of a date as a plan writes it. */
function dayOf(date: string): string {
  const [year, month, day] = date.trim().split('-').map(Number);
  return DAYS[new Date(Date.UTC(year as number, (month as number) - 1, day)).getUTCDay()] as string;
}

/** A day that is still to be filled in. Until it is, calm standard air is assumed, and a finding says so. */
function weatherToFillIn(name: string, date: string): string[] {
  return [
    `weather ${name}`,
    `  date ${date.trim()}`,
    '  note "No forecast yet: until the lines below are filled in, calm standard air is assumed."',
    '  # Fill in, and take the # away:',
    '  # qnh         … hPa',
    '  # temperature … °C at … ft MSL',
    '  # wind        surface from …° at … kt',
    '  # wind        3000 ft MSL from …° at … kt',
    '  # wind        6000 ft MSL from …° at … kt',
    '  # lift        … kt to … ft MSL',
  ];
}

interface Parts {
  readonly uses: readonly string[];
  readonly weather: readonly string[];
  readonly head: readonly string[];
  readonly start: string;
  /** What stands after each climb: `turn "Withy Bridge"`. */
  readonly legs: readonly string[];
}

interface Climbs {
  /** The height of the climb before each leg; undefined where it needs none. */
  readonly before: readonly (string | undefined)[];
  /** A leg needs more than the lift of the day leads to. */
  readonly short: boolean;
}

function assembled({ uses, weather, head, start, legs }: Parts, { before, short }: Climbs): string {
  const lines = [...uses];
  if (weather.length > 0) lines.push('', ...weather);
  lines.push('', ...head);
  if (before.some((climb) => climb !== undefined))
    lines.push(
      short
        ? '  # The climbs lead as high as the lift of the day. A leg that needs more says so.'
        : '  # Each climb is the least that its leg needs, with a little to spare. Take more if you like.',
    );
  lines.push(`  ${start}`);
  for (const [i, leg] of legs.entries()) {
    const climb = before[i];
    if (climb !== undefined) lines.push(`  climb to ${climb}`);
    lines.push(`  ${leg}`);
  }
  const text = `${lines.join('\n').trim()}\n`;
  const formatted = formatFile(parseFile(text));
  return 'text' in formatted ? formatted.text : text;
}

/** The highest that a thermal of the day leads, m; anything where that is not written. */
function topM({ weather, air }: TaskEvaluation): number {
  const top = weather?.meaning.lift?.top;
  const cloudbase = weather?.meaning.cloudbase?.value;
  const of = (altitude: typeof top) => (altitude ? (altitudeIn(altitude, undefined, air) ?? Infinity) : Infinity);
  return Math.min(of(top), of(cloudbase));
}

/**
 * The climbs that the legs need, one after the other, since each leg starts where the last one ended: to arrive with a
 * little to spare, and to have a field in reach everywhere on the way, where the lift of the day leads that high.
 */
function climbsFor(workspace: Workspace, uri: string, parts: Parts, written: Unit): Climbs {
  const step = STEPS[written.text] ?? 100;
  const before: (string | undefined)[] = parts.legs.map(() => undefined);
  let short = false;
  const evaluated = (): TaskEvaluation | undefined =>
    understand(workspace, setFile(workspace, uri, assembled(parts, { before, short }))).tasks[0];
  const climbTo = (altitudeM: number) => `${quantityText(altitudeM, written, step, 'down')} MSL`;
  for (let i = 0; i < parts.legs.length; i++) {
    const task = evaluated();
    const result = task?.legs[i]?.result;
    if (!task || !result || result.problem || result.requiredDepartAltitudeM === null) continue;
    const mostM = steppedSi(topM(task), written, step, 'down');
    let leastM = result.departAltitudeM;
    if (result.marginM < THIN_M) {
      let wantedM = steppedSi(result.requiredDepartAltitudeM + THIN_M, written, step, 'up');
      for (;;) {
        const toM = Math.min(wantedM, mostM);
        if (toM < wantedM) short = true;
        if (toM <= result.departAltitudeM) break;
        before[i] = climbTo(toM);
        leastM = toM;
        // Flown from higher up, a glide loses a little more: it may take another step.
        const now = evaluated()?.legs[i]?.result;
        if (toM < wantedM || !now || now.problem || now.marginM >= THIN_M) break;
        wantedM = steppedSi(toM + THIN_M - now.marginM, written, step, 'up');
        if (wantedM <= toM) break;
      }
    }

    const isInReach = (now = evaluated()): boolean => {
      const leg = now?.legs[i];
      return leg !== undefined && now !== undefined && stretchesWithoutField(leg, now)?.length === 0;
    };
    if (isInReach()) continue;
    const least = before[i];
    const isInReachFrom = (altitudeM: number): boolean => {
      before[i] = climbTo(altitudeM);
      return isInReach();
    };
    // What no height of the day mends is told by a finding: the way round is the pilot's to choose.
    let inReachM = steppedSi(Math.min(mostM, leastM + MOST_MORE_M), written, step, 'down');
    if (inReachM <= leastM || !isInReachFrom(inReachM)) {
      before[i] = least;
      continue;
    }
    for (let outM = leastM; ; ) {
      const midM = steppedSi((outM + inReachM) / 2, written, step, 'up');
      if (midM >= inReachM) break;
      if (isInReachFrom(midM)) inReachM = midM;
      else outM = midM;
    }
    before[i] = climbTo(inReachM);
  }
  return { before, short };
}

/** What is wrong with the answers that are written, the first of it. */
function faultOf(answers: PlanAnswers): string | undefined {
  const { name, pilot, height, weather, takeoff } = answers;
  const given = [
    ['the name', faultOfAnswer('name', name)],
    ['the height', faultOfAnswer('height', height)],
    ['the pilot', pilot === undefined ? undefined : faultOfAnswer('mass', pilot)],
    ['the take-off', takeoff === undefined ? undefined : faultOfAnswer('time', takeoff)],
    ['the date', 'date' in weather ? faultOfAnswer('date', weather.date) : undefined],
  ] as const;
  const bad = given.find(([, fault]) => fault !== undefined);
  return bad && `${bad[0]}: ${bad[1]}`;
}

/**
 * The text of a new plan that is to lie at `uri`. Refused, with the reason in words, when an answer cannot be written,
 * an entry that was chosen is no longer there, or no `use` line leads to its file.
 */
export function newPlanText(workspace: Workspace, uri: string, answers: PlanAnswers): NewText {
  const fault = faultOf(answers);
  if (fault) return { refused: fault };

  const paths = new Map<string, string>();
  let refused: string | undefined;
  /** A chosen entry, with the file that it stands in brought in. */
  const taken = (
    namespace: Namespace,
    chosen: Chosen,
    bring = true,
  ): { defined: Defined; name: string } | undefined => {
    const defined = entryOf(workspace, namespace, chosen);
    const name = defined && nameText(chosen.name);
    const path = relativePath(workspace, uri, chosen.uri);
    if (!defined || name === undefined) refused ??= `${chosen.name} is no longer where it was.`;
    else if (!bring) return { defined, name };
    else if (path === undefined) refused ??= `${chosen.name} stands in a file that the new plan cannot use.`;
    else {
      paths.set(chosen.uri, path);
      return { defined, name };
    }
    return undefined;
  };

  const { weather: day } = answers;
  const aircraft = answers.aircraft && taken('aircraft', answers.aircraft);
  const reserve = answers.reserve && taken('reserve', answers.reserve);
  const limits = answers.limits && taken('limits', answers.limits);
  const start = taken('point', answers.start);
  const turns = answers.turns.map((turn) => taken('point', turn));
  const finish = taken('point', answers.finish);
  // The weather of another plan is taken along: to use that plan would bring its task in.
  const dayFile = 'date' in day ? undefined : workspace.files.get(day.uri);
  const copies = dayFile !== undefined && holdsTask(dayFile);
  const chosenDay = 'date' in day ? undefined : taken('weather', day, !copies);
  if (refused !== undefined) return { refused };

  // Tried in a workspace of its own: the new file is not there before it is written.
  const trial: Workspace = { ...workspace, files: new Map(workspace.files), unreadable: new Map(workspace.unreadable) };
  const uses = [...paths.values()].sort((a, b) => a.localeCompare(b)).map((path) => `use "${path}"`);
  setFile(trial, uri, `${uses.join('\n')}\n`);

  let weather: string[] = [];
  let dayName: string | undefined;
  if ('date' in day) {
    dayName = freeName(trial, uri, 'weather', dayOf(day.date));
    weather = weatherToFillIn(dayName, day.date);
  } else if (chosenDay) {
    dayName = chosenDay.name;
    const block = copies && blockOf(dayFile.syntax, chosenDay.defined.placed.syntax);
    if (block) weather = blockText(dayFile.syntax, block).split(/\r\n|\n|\r/);
  }

  const pilot = answers.pilot === undefined ? '' : ` with pilot ${answers.pilot.trim()}`;
  const parts: Parts = {
    uses,
    weather,
    head: [
      `task ${nameText(answers.name.trim()) ?? '"Task"'}`,
      aircraft
        ? `  aircraft ${aircraft.name}${pilot}`
        : '  # aircraft … with pilot … kg: fill in; the files of this folder hold no aircraft yet',
      `  weather ${dayName}`,
      reserve ? `  reserve ${reserve.name}` : '  # reserve …: fill in; the files of this folder hold no reserve yet',
      ...(limits ? [`  limits ${limits.name}`] : []),
      ...(answers.takeoff === undefined ? [] : [`  takeoff ${answers.takeoff.trim()}`]),
    ],
    start: `start ${start?.name} at ${answers.height.trim()}`,
    legs: [...turns.map((turn) => `turn ${turn?.name}`), `finish ${finish?.name}`],
  };
  const written = /\d\s*m\b/i.test(answers.height) ? unit('m') : FEET;
  return { text: assembled(parts, climbsFor(trial, uri, parts, written)) };
}
