/** The fields along the way of a task, with what one asks of a field before landing on it. */
import { fromSi } from '../../grammar/units.ts';
import { bestRunway, fieldWind, longEnough } from '../plan/landing.ts';
import type { Field } from '../plan/meaning.ts';
import { askedBy, fieldsInReachAt, pathOf } from '../plan/reach.ts';
import { number, type Show } from '../plan/show.ts';
import type { TaskEvaluation } from '../plan/task.ts';
import { type BriefCell, type BriefRow, type BriefTable, type BriefText, plainText } from './brief-cells.ts';

/** The planned path is looked from this many places of each leg, besides both ends and the climbs. */
const LOOKS = 8;
/** More of them are counted, and nothing else: nobody reads on. */
const MOST_FIELDS = 40;
/** Slower than this a wind has no side, m/s. */
const CALM_MPS = 0.05;

interface Along {
  readonly field: Field;
  /** Named by the task. */
  named: boolean;
  /** By the number of a leg, from 1: the nearest that the planned path of the leg comes to it, m. */
  readonly nearestM: Map<number, number>;
}

/** Fields that the task names, and fields in reach from its planned path, in the order in which they come up. */
function along(task: TaskEvaluation): Along[] {
  const found = new Map<Field, Along>();
  const add = (field: Field, leg: number, named: boolean, nearestM: number): void => {
    const known = found.get(field) ?? { field, named, nearestM: new Map<number, number>() };
    found.set(field, known);
    known.named ||= named;
    known.nearestM.set(leg, Math.min(known.nearestM.get(leg) ?? Infinity, nearestM));
  };
  const start = task.start?.point?.meaning;
  if (start?.kind === 'field') add(start, 1, true, 0);
  for (const leg of task.legs) {
    const lengthM = leg.result?.distanceM ?? 0;
    const places = new Set<number>();
    for (let i = 0; i <= LOOKS; i++) places.add((lengthM * i) / LOOKS);
    for (const climb of leg.result?.climbs ?? []) places.add(climb.afterM);
    if (pathOf(leg).length > 0)
      for (const xM of [...places].sort((a, b) => a - b))
        for (const { field, distanceM } of (fieldsInReachAt(leg, task, xM) ?? []).toSorted(
          (a, b) => a.distanceM - b.distanceM,
        ))
          add(field.meaning, leg.number, false, distanceM);
    if (leg.to?.meaning.kind === 'field') add(leg.to.meaning, leg.number, true, 0);
  }
  return [...found.values()];
}

/**
 * The fields in the order in which they matter: those that the task names, then of each leg in turn the best that is
 * left. Better is one with a runway that is long enough, then the nearer one.
 */
function ranked(all: readonly Along[], task: TaskEvaluation): Along[] {
  const needed = task.aircraft?.meaning.landingM?.value;
  const short = new Map(all.map(({ field }) => [field, !field.runways.some((one) => longEnough(one, needed))]));
  const order = new Set(all.filter(({ named }) => named));
  const queues = task.legs.map(({ number: leg }) =>
    all
      .filter(({ nearestM }) => nearestM.has(leg))
      .toSorted(
        (a, b) =>
          Number(short.get(a.field)) - Number(short.get(b.field)) ||
          (a.nearestM.get(leg) as number) - (b.nearestM.get(leg) as number),
      ),
  );
  while (order.size < all.length)
    for (const queue of queues) {
      let next = queue.shift();
      while (next && order.has(next)) next = queue.shift();
      if (next) order.add(next);
    }
  return [...order];
}

function runwayText({ text, lengthM, surface, circuit }: Field['runways'][number]): string {
  const what = [
    text,
    lengthM === undefined ? '' : `${number(lengthM)} m`,
    surface ?? '',
    circuit === undefined ? '' : `circuit ${circuit}`,
  ];
  return what.filter((part) => part !== '').join(' ');
}

/** `36: head 5, cross 3 left`; what helps rounded down, what does not rounded up. */
function landingCell(field: Field, task: TaskEvaluation, with_: Show): BriefCell {
  // Where no leg is computed the wind may be a part of what is written.
  const wind = task.legs.some(({ result }) => result) ? fieldWind(field, task) : undefined;
  const needed = task.aircraft?.meaning.landingM?.value;
  const best = wind && bestRunway(wind.runways, needed);
  if (!best) return { main: plainText('–'), under: [] };
  const { headMps, crossMps, runway, end } = best;
  const bare = (mps: number, rounding: 'up' | 'down') =>
    with_.speed(mps, rounding).replace(` ${with_.units.speed.text}`, '');
  const along = headMps >= 0 ? `head ${bare(headMps, 'down')}` : `tail ${bare(-headMps, 'up')}`;
  const side = Math.abs(crossMps) < CALM_MPS ? '' : crossMps > 0 ? ' right' : ' left';
  const short = longEnough(runway, needed) ? '' : ', too short';
  return {
    main: plainText(`${end}: ${along}, cross ${bare(Math.abs(crossMps), 'up')}${side}${short}`),
    under: [],
  };
}

/** The table; null for a task without any field. */
export function fieldRows(task: TaskEvaluation, with_: Show): BriefTable | null {
  const all = along(task);
  if (all.length === 0) return null;
  // The best stay where there are too many for any sheet; what is left out is counted.
  const order = ranked(all, task).slice(0, MOST_FIELDS);
  const places = new Map(order.map((one, place) => [one, place]));
  const kept = all.filter((one) => places.has(one));
  const left = all.length - kept.length;
  const { altitude, speed } = with_.units;
  const height = (si: number | undefined, rounding: 'up' | 'nearest'): BriefText =>
    si === undefined ? plainText('–') : { text: number(fromSi(si, altitude), 0, rounding), si };
  return {
    title: 'Fields on the way',
    heads: [
      { text: 'field', unit: '', words: true },
      { text: 'frequency', unit: '' },
      { text: 'elevation', unit: `${altitude.text} MSL` },
      { text: 'asked', unit: `${altitude.text} MSL` },
      { text: 'runway', unit: '', words: true },
      { text: 'land on', unit: `wind in ${speed.text}`, words: true },
    ],
    ranks: kept.map((one) => places.get(one) as number),
    rows: kept.map(
      ({ field }): BriefRow => ({
        cells: [
          { main: plainText(field.name), under: [] },
          {
            main: plainText(field.frequencies[0]?.text ?? '–'),
            under: field.frequencies.slice(1).map(({ text }) => plainText(text)),
          },
          { main: height(field.elevationM, 'nearest'), under: [] },
          { main: height(askedBy(field, task), 'up'), under: [] },
          {
            main: plainText(field.runways[0] ? runwayText(field.runways[0]) : '–'),
            under: field.runways.slice(1).map((runway) => plainText(runwayText(runway))),
          },
          landingCell(field, task, with_),
        ],
        notes: field.notes.map(plainText),
      }),
    ),
    notes:
      left === 0 ? [] : [`${left} more ${left === 1 ? 'field is' : 'fields are'} in reach on the way and not shown.`],
  };
}
