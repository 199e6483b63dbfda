/** What a sheet says in words: margins, what was assumed, and what was not looked at. */
import { airspacesOf, notChecked } from '../plan/airspace.ts';
import { marginText } from '../plan/budget-rows.ts';
import { madeWith } from '../plan/caution.ts';
import { eveningOf } from '../plan/day.ts';
import { unknownGround } from '../plan/ground.ts';
import { finishInReachFrom, homeOf, stretchesWithoutField } from '../plan/reach.ts';
import { altitudeText, type Show, timeOfDay } from '../plan/show.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import { partsText } from '../rules/reach-words.ts';

type Words = { readonly title: string; readonly sentences: readonly string[] };

const sentence = (text: string) => `${text.charAt(0).toUpperCase()}${text.slice(1)}${/[.!?]$/.test(text) ? '' : '.'}`;

function leastMargin({ legs }: TaskEvaluation, with_: Show): string[] {
  let least: LegEvaluation | undefined;
  const marginOf = (leg: LegEvaluation | undefined) => (leg?.result?.problem === null ? leg.result.marginM : Infinity);
  for (const leg of legs) if (marginOf(leg) < marginOf(least)) least = leg;
  if (!least) return [];
  return [`least margin ${marginText(least, with_)}, on leg ${least.number} to ${least.toName}`];
}

function reserveText({ reserve }: TaskEvaluation, with_: Show): string[] {
  if (!reserve) return ['no reserve is named: nothing is kept in hand beyond what a field asks itself'];
  const { name, arriveM, turnM, clearM, altimeterM } = reserve.meaning;
  const parts = [
    arriveM ? `${with_.height(arriveM.value, 'up')} over a field` : '',
    turnM ? `${with_.height(turnM.value, 'up')} over a turnpoint` : '',
    clearM ? `${with_.height(clearM.value, 'up')} clear of what stands on the way` : '',
    altimeterM ? `${with_.height(altimeterM.value, 'up')} for the altimeter` : '',
  ].filter((part) => part !== '');
  return [`reserve ${name}: ${parts.length === 0 ? 'asks no height' : parts.join(', ')}`];
}

/** `Larkfield asks 900 ft of its own`: only where that is more than the reserve asks. */
function ownArrivals({ legs, reserve }: TaskEvaluation, with_: Show): string[] {
  const names = new Set<string>();
  return legs.flatMap(({ to }) => {
    const own = to?.meaning.kind === 'field' ? to.meaning.arriveM?.value : undefined;
    if (!to || own === undefined || own <= (reserve?.meaning.arriveM?.value ?? 0) || names.has(to.meaning.name))
      return [];
    names.add(to.meaning.name);
    return [`${to.meaning.name} asks ${with_.height(own, 'up')} over itself`];
  });
}

function reachText(task: TaskEvaluation, with_: Show): string[] {
  const sentences: string[] = [];
  const all: number[] = [];
  const unknown: number[] = [];
  for (const leg of task.legs) {
    const stretches = stretchesWithoutField(leg, task);
    if (!stretches) unknown.push(leg.number);
    else if (stretches.length === 0) all.push(leg.number);
    for (const part of partsText(stretches ?? [], leg.result?.distanceM, with_).between)
      sentences.push(`no field is in reach on leg ${leg.number} from ${part} after ${leg.fromName}`);
  }
  const legs = (numbers: readonly number[]) => `${numbers.length === 1 ? 'leg' : 'legs'} ${numbers.join(', ')}`;
  if (all.length > 0) sentences.push(`a field is in reach all along ${legs(all)}, from the heights planned`);
  if (unknown.length > 0) sentences.push(`fields in reach are not looked for on ${legs(unknown)}`);
  const last = task.legs.at(-1);
  const home = homeOf(task)?.meaning.name;
  const fromM = last && finishInReachFrom(last, task);
  const lengthM = last?.result?.distanceM;
  if (home && fromM !== undefined && fromM !== null && lengthM !== undefined)
    sentences.push(
      fromM === 0
        ? `${home} is in reach with the reserve all along the last leg`
        : `${home} is in reach with the reserve from ${with_.distance(lengthM - fromM)} to go, from the heights planned`,
    );
  return sentences;
}

function surroundingsText(task: TaskEvaluation, with_: Show): string[] {
  const { airspaces, obstacles } = task.surroundings;
  const count = airspaces.length;
  const unread = notChecked(airspacesOf(task)).length;
  const unseen = unknownGround(task);
  const ground = !task.surroundings.terrain
    ? 'ground: no elevation tiles are given, and it is not checked'
    : unseen
      ? `ground: checked under the line alone; that under ${with_.distance(unseen.lengthM)} of the way is not known`
      : 'ground: checked under the line alone';
  const written = obstacles.reduce((sum, { all }) => sum + all.length, 0);
  return [
    count === 0
      ? 'airspace: none is written, none is checked'
      : `airspace: only ${count === 1 ? 'the one that is written is' : `the ${count} that are written are`} checked${unread === 0 ? '' : `, and ${unread} of them could not be`}`,
    ground,
    written === 0
      ? 'obstacles: none is written, none is checked'
      : `obstacles: only the ${written} written ${written === 1 ? 'is' : 'are'} checked`,
  ];
}

function dayWords(task: TaskEvaluation): string[] {
  const { takeoff } = task.task;
  const evening = eveningOf(task);
  // Rounded down, so that nobody counts on a minute that is not there.
  const time = (seconds: number) => timeOfDay(Math.floor(seconds / 60) * 60, takeoff?.zoneMinutes ?? 0);
  if (!takeoff || !evening || evening.sunsetS === null) return [];
  const dusk = evening.civilDuskS === null ? '' : `, civil twilight to ${time(evening.civilDuskS)}`;
  return [`sunset at the finish ${time(evening.sunsetS)}${dusk}`];
}

function liftWords(task: TaskEvaluation, with_: Show): string[] {
  const { lift, cloudbase, thermals } = task.weather?.meaning ?? {};
  const zone = task.task.takeoff?.zoneMinutes ?? 0;
  const parts = [
    lift ? `lift ${with_.climb(lift.rateMps)} to ${altitudeText(lift.top, with_)}` : '',
    cloudbase ? `cloudbase ${altitudeText(cloudbase.value, with_)}` : '',
    thermals ? `thermals ${timeOfDay(thermals.fromS, zone)} to ${timeOfDay(thermals.toS, zone)}` : '',
  ].filter((part) => part !== '');
  return parts.length === 0 ? [] : [parts.join(', ')];
}

/** Notes that the task itself carries. */
function notesOf({ entry }: TaskEvaluation): string[] {
  return entry.details.flatMap(({ form, slots }) => {
    const node = form?.id === 'note' ? slots['text'] : undefined;
    return node?.kind === 'text' && node.text !== '' ? [node.text] : [];
  });
}

/** Everything in words, by what it is about. */
export function assumptions(task: TaskEvaluation, with_: Show): Words[] {
  const limits = task.limits.map(({ meaning }) => meaning.name);
  const groups: { title: string; sentences: string[] }[] = [
    { title: 'Notes', sentences: notesOf(task) },
    {
      title: 'Margins',
      sentences: [
        ...leastMargin(task, with_),
        ...reserveText(task, with_),
        ...ownArrivals(task, with_),
        ...(limits.length === 0 ? [] : [`limits ${limits.join(', ')}`]),
        ...reachText(task, with_),
      ],
    },
    { title: 'Made with', sentences: [madeWith(task, with_).join('; '), ...liftWords(task, with_), ...dayWords(task)] },
    {
      title: 'What is checked',
      sentences: [
        ...surroundingsText(task, with_),
        'the launch, the drift of climbs and the circuit are in no height and in no time',
      ],
    },
  ];
  return groups
    .map(({ title, sentences }) => ({ title, sentences: sentences.filter((one) => one !== '').map(sentence) }))
    .filter(({ sentences }) => sentences.length > 0);
}
