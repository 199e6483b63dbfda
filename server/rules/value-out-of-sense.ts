import { detailsOf, type LineSyntax, type Span } from '../../grammar/syntax.ts';
import { airspacesOf } from '../plan/airspace.ts';
import type { Aircraft, Airspace, ItineraryLine, Meaning, Task, Weather, Written } from '../plan/meaning.ts';
import { difference, isEmptyAlways } from '../plan/order.ts';
import { altitudeAboveSeaText, altitudeText, type Show, timeOfDay } from '../plan/show.ts';
import {
  altitudeIn,
  type ClimbEvaluation,
  LEAST_BAND_M,
  type LegEvaluation,
  type Place,
  type TaskEvaluation,
} from '../plan/task.ts';
import type { Altitude } from '../plan/values.ts';
import { unreadable, windLines } from './leg-words.ts';
import {
  type EntryContext,
  type FileContext,
  type Found,
  faultsOf,
  quoted,
  type Related,
  type Rule,
  textAt,
} from './rule.ts';

/** A value as it is written, and where it is. */
function written(value: Written<unknown>, context: EntryContext): string {
  return textAt(context.entry, value.span);
}

function writtenAt(value: Written<unknown>, what: string, context: EntryContext): Related {
  return { at: context.at(value.line.span), message: `the ${what} is written here` };
}

function* masses(aircraft: Aircraft, context: EntryContext): Iterable<Found> {
  const { emptyMassKg: empty, pilot } = aircraft;
  const others = [
    { what: 'polar mass', mass: aircraft.polarMassKg },
    { what: 'maximum mass', mass: aircraft.maximumMassKg },
  ];
  const below = others.flatMap(({ what, mass }) =>
    mass && empty && mass.value < empty.value ? [{ what, mass, text: written(mass, context) }] : [],
  );
  const [one, two] = below;
  if (one && two && empty) {
    // Both lie below the third: that one is the slip.
    yield {
      at: context.at(empty.span),
      message: `empty mass ${written(empty, context)} lies above the polar mass of ${one.text} and the maximum mass of ${two.text}: no pilot could be on board. Correct it.`,
      related: [writtenAt(one.mass, one.what, context), writtenAt(two.mass, two.what, context)],
    };
  } else if (one && empty) {
    yield {
      at: context.at(one.mass.span),
      message: `${one.what} ${one.text} lies below the empty mass of ${written(empty, context)}: no pilot could be on board. Correct one of the two.`,
      related: [writtenAt(empty, 'empty mass', context)],
    };
  }
  const { least, most } = pilot?.line.slots ?? {};
  if (pilot && least && most && pilot.leastKg > pilot.mostKg) {
    yield {
      at: context.at({ start: least.span.start, end: most.span.end }),
      message: `${textAt(context.entry, least.span)} as the least that the pilot may weigh lies above the most, ${textAt(context.entry, most.span)}. Write the lower one first.`,
    };
  }
}

/** Speeds in the order in which they rise; `va`, `vno` and `vne` may be the same. */
function* speeds(aircraft: Aircraft, context: EntryContext): Iterable<Found> {
  const order = [
    ['vs', aircraft.vsMps],
    ['va', aircraft.vaMps],
    ['vno', aircraft.vnoMps],
    ['vne', aircraft.vneMps],
  ] as const;
  let below: (typeof order)[number] | undefined;
  for (const each of order) {
    const [name, speed] = each;
    if (!speed) continue;
    const low = below?.[1];
    if (below && low && (speed.value < low.value || (below[0] === 'vs' && speed.value === low.value))) {
      const relation = below[0] === 'vs' ? 'does not lie above' : 'lies below';
      yield {
        at: context.at(speed.span),
        message: `${name} ${written(speed, context)} ${relation} ${below[0]} ${written(low, context)}: the speeds rise from vs over va and vno to vne. Correct one of the two.`,
        related: [writtenAt(low, `speed ${below[0]}`, context)],
      };
    }
    below = each;
  }
}

function* airspace(meaning: Airspace, context: EntryContext): Iterable<Found> {
  const { floor, ceiling, entry } = meaning;
  if (floor && ceiling && isEmptyAlways(floor.value, ceiling.value)) {
    const any = difference(floor.value, ceiling.value) === undefined ? ', whatever the QNH' : '';
    yield {
      at: context.at(ceiling.span),
      message: `${written(ceiling, context)} as the ceiling does not lie above the floor, ${written(floor, context)}${any}: nothing is left between them. Correct one of the two.`,
      related: [writtenAt(floor, 'floor', context)],
    };
  }
  if (meaning.faulty.some(({ detail }) => detail === undefined || detail === 'circle' || detail === 'edge')) return;
  const [circle] = detailsOf(entry, 'circle');
  const edges = detailsOf(entry, 'edge');
  const [corner] = edges;
  if (circle && corner) {
    yield {
      at: context.at(corner.keyword),
      message: `${quoted('edge')} and ${quoted('circle')} both draw an outline, and an airspace has one. Take one of them out.`,
      related: [{ at: context.at(circle.span), message: 'the circle is written here' }],
    };
  } else if (corner && edges.length < 3) {
    const corners = edges.length === 1 ? '1 corner encloses' : '2 corners enclose';
    yield {
      at: context.at(corner.keyword),
      message: `${corners} nothing: an outline has 3 corners or more. Add ${quoted('edge')} lines, or write ${quoted('circle')}.`,
    };
  } else if (!circle && !corner && entry.name && floor && ceiling) {
    yield {
      at: context.at(entry.name.span),
      message: `${entry.name.text} has no outline: nobody can tell where it lies. Add a ${quoted('circle')}, or three or more ${quoted('edge')} lines.`,
    };
  }
}

function sameLayer(a: Altitude | 'surface', b: Altitude | 'surface'): boolean {
  if (a === 'surface' || b === 'surface') return a === b;
  const over = difference(a, b);
  return over !== undefined && Math.abs(over) < 1e-6;
}

function* weather(meaning: Weather, context: EntryContext): Iterable<Found> {
  for (const [i, wind] of meaning.winds.entries()) {
    const first = meaning.winds.slice(0, i).find((other) => sameLayer(other.altitude, wind.altitude));
    if (!first) continue;
    const node = wind.line.slots['altitude'] ?? { span: wind.line.flags['surface'] };
    const where = wind.altitude === 'surface' ? 'the surface' : altitudeText(wind.altitude, context.show);
    yield {
      at: context.at(node.span ?? wind.line.span),
      message: `the wind at ${where} is given a second time: the air there can only move in one way. Take one of the lines out.`,
      related: [{ at: context.at(first.line.span), message: 'the first is written here' }],
    };
  }
  const { thermals } = meaning;
  const to = thermals?.line.slots['to'];
  const from = thermals?.line.slots['from'];
  if (thermals && from && to && thermals.toS <= thermals.fromS) {
    const zone = from.kind === 'time' ? (from.zoneMinutes ?? 0) : 0;
    yield {
      at: context.at(to.span),
      message: `${textAt(context.entry, to.span)} as the end of the thermals does not lie behind their start at ${timeOfDay(thermals.fromS, zone)}. Write the earlier time first; for a day that crosses midnight UTC, write both by the local clock, such as ${quoted('11:00+10:00')}.`,
    };
  }
}

/** The heights of `soar` lines, as far as they compare without the air. */
function* soaring(meaning: Task, context: EntryContext): Iterable<Found> {
  for (const item of meaning.itinerary) {
    if (item.kind !== 'soar' || !item.lower || !item.upper) continue;
    const { lower, upper } = item.line.slots;
    if (!lower || !upper || !isEmptyAlways(item.lower, item.upper)) continue;
    const any = difference(item.lower, item.upper) === undefined ? ', whatever the QNH' : '';
    yield {
      at: context.at(upper.span),
      message: `${textAt(context.entry, upper.span)} as the upper height of ${quoted('soar')} does not lie above the lower, ${textAt(context.entry, lower.span)}${any}. Write the lower one first.`,
    };
  }
}

function* acrossValues(meaning: Meaning, context: EntryContext): Iterable<Found> {
  if (meaning.kind === 'aircraft') {
    yield* masses(meaning, context);
    yield* speeds(meaning, context);
  } else if (meaning.kind === 'airspace') {
    yield* airspace(meaning, context);
  } else if (meaning.kind === 'weather') {
    yield* weather(meaning, context);
  } else if (meaning.kind === 'task') {
    yield* soaring(meaning, context);
  }
}

/** Winds that are written in other words for one altitude, which only the task brings together: `surface` and the level of QNH. */
function* windsTogether(evaluation: TaskEvaluation, show: Show, at: (span: Span) => Place): Iterable<Found> {
  const lines = windLines(evaluation);
  const named = evaluation.task.weather;
  for (const [i, one] of lines.entries()) {
    const first = lines
      .slice(0, i)
      .find(
        (other) =>
          Math.abs(other.altitudeM - one.altitudeM) < LEVEL_M &&
          !sameLayer(other.line.altitude, one.line.altitude) &&
          (other.line.speedMps !== one.line.speedMps ||
            other.line.direction.degrees !== one.line.direction.degrees ||
            other.line.direction.magnetic !== one.line.direction.magnetic),
      );
    if (!first || !named) continue;
    yield {
      at: at(named.name?.span ?? named.line.span),
      message: `for this task two winds are given at ${show.altitude(one.altitudeM)}: the air there can only move in one way. Take one of the lines out of ${evaluation.weather?.meaning.name}.`,
      related: [first, one].map((line) => ({ at: line.at, message: 'one of them is written here' })),
    };
  }
}

/** The QNH of a task as it is told: with the weather that it is written in. */
function qnhOf({ weather }: TaskEvaluation): { readonly text: string; readonly related: Related } | undefined {
  const qnh = weather?.meaning.qnhPa;
  if (!weather || !qnh) return undefined;
  return {
    text: `by the QNH of ${weather.meaning.name}`,
    related: { at: { ...weather.at, span: qnh.line.span }, message: `the QNH of ${weather.meaning.name}` },
  };
}

/** Volumes whose floor lies above their ceiling by the QNH of a task, and not by every QNH. Each is told once. */
function* emptyAirspaces({ understood, show }: FileContext): Iterable<Found> {
  const told = new Set<Airspace>();
  for (const evaluation of understood.tasks) {
    const qnh = qnhOf(evaluation);
    const named = evaluation.task.weather;
    for (const { meaning, at } of qnh && named ? airspacesOf(evaluation).empty : []) {
      const { floor, ceiling, name } = meaning;
      if (!qnh || !named || !floor || !ceiling || told.has(meaning)) continue;
      if (isEmptyAlways(floor.value, ceiling.value)) continue;
      told.add(meaning);
      const text = ({ value }: Written<Altitude>) =>
        altitudeAboveSeaText(value, altitudeIn(value, undefined, evaluation.air), show);
      const here = at.uri === understood.file.uri;
      yield {
        at: here
          ? { ...at, span: ceiling.span }
          : { uri: evaluation.uri, entry: evaluation.entry, span: named.name?.span ?? named.line.span },
        message: `${text(ceiling)} as the ceiling of ${name} does not lie above the floor, ${text(floor)}, ${qnh.text}: nothing is left between them. Correct one of the two.`,
        related: [
          {
            at: here ? { ...at, span: floor.span } : at,
            message: here ? 'the floor is written here' : `${name} is written here`,
          },
          qnh.related,
        ],
      };
    }
  }
}

/** The heights of `soar` lines that leave nothing between them in the air of a task, and not in every air. */
function* soaringBy(evaluation: TaskEvaluation, show: Show, at: (span: Span) => Place): Iterable<Found> {
  const { task, weather } = evaluation;
  // Where the weather cannot be read nobody knows its QNH.
  if (task.weather ? !weather || unreadable(weather.meaning, 'qnh') : unreadable(task, 'weather')) return;
  const qnh = qnhOf(evaluation);
  for (const { kind, line, ...item } of task.itinerary) {
    if (kind !== 'soar') continue;
    const { lower, upper } = item as Extract<ItineraryLine, { kind: 'soar' }>;
    if (!lower || !upper || isEmptyAlways(lower, upper)) continue;
    const [lowerM, upperM] = [lower, upper].map((one) => altitudeIn(one, undefined, evaluation.air));
    if (lowerM === undefined || upperM === undefined || upperM - lowerM >= LEAST_BAND_M) continue;
    const text = (one: Altitude, altitudeM: number) => altitudeAboveSeaText(one, altitudeM, show);
    const by = difference(lower, upper) === undefined ? `, ${qnh?.text ?? 'by the standard 1013.25 hPa'}` : '';
    yield {
      at: at((line.slots['upper'] ?? line).span),
      message: `${text(upper, upperM)} as the upper height of ${quoted('soar')} ${upperM > lowerM ? 'lies less than a metre above' : 'does not lie above'} the lower, ${text(lower, lowerM)}${by}. Write a greater height, or the lower one first.`,
      related: qnh && by !== '' ? [qnh.related] : [],
    };
  }
}

/** Where the text of a climb's height or distance stands. */
function slotSpan(climb: ClimbEvaluation, slot: 'altitude' | 'after') {
  return climb.line.slots[slot]?.span ?? climb.line.span;
}

/** The line that sets the height from which a climb of a leg starts, where that can be told. */
function heightBefore(leg: LegEvaluation, index: number): LineSyntax | undefined {
  const climb = leg.climbs.slice(0, index).findLast(({ goesDown, beyondLeg }) => !goesDown && !beyondLeg);
  if (climb) return climb.line;
  return leg.climbs.some(({ line }) => line === leg.heightLine) ? undefined : leg.heightLine;
}

/** Heights closer than this are the same: they may have been written in other units, m. */
const LEVEL_M = 0.5;

/** A value, or two together, that no flight can have. */
export const valueOutOfSense: Rule = {
  code: 'value-out-of-sense',
  severity: 'error',
  title: 'A value makes no sense',
  needs: ['faults', 'aircraft', 'airspace', 'weather', 'task'],
  page: {
    means:
      'The value can be read, and nothing that flies can have it: a latitude beyond the pole, a runway 37, a mass below zero; or two values that cannot both be right: a maximum mass below the empty mass, a climb that ends lower than it starts. It is left out of everything that is computed.',
    why: 'Such a value is a slip of the pen, and a slip that happens to stay within reason looks just like it. Whoever mends it reads the line again, with the handbook or the map beside it.',
    bad: 'field Larkfield at 97.2031 N 19.4410 E\n  elevation 190 m\n',
    good: 'field Larkfield at 47.2031 N 19.4410 E\n  elevation 190 m\n',
    turnDown: 'It is not turned down: correct the value.',
  },
  *entry(context) {
    for (const { fault, line, node } of faultsOf(context, 'value-out-of-sense')) {
      // The missing quotation mark is the cause, and is told.
      if (node.kind === 'name' && line.problems.some(({ kind }) => kind === 'text-unclosed')) continue;
      const text = textAt(context.entry, fault.span);
      let what = text;
      if (node.kind === 'coordinates')
        what = `${fault.span.start === node.first.span.start ? 'latitude' : 'longitude'} ${text}`;
      else if (node.kind === 'word' || node.kind === 'name') what = quoted(text);
      yield { at: context.at(fault.span), message: `${what} ${fault.reason}.` };
    }
    yield* acrossValues(context.meaning, context);
  },
  file: emptyAirspaces,
  *task({ evaluation, show, at }) {
    yield* windsTogether(evaluation, show, at);
    yield* soaringBy(evaluation, show, at);
    const { start } = evaluation;
    const point = start?.point;
    const elevationM = point?.meaning.elevationM;
    if (!start || !point || start.altitudeM === undefined || elevationM === undefined) return;
    if (start.altitudeM >= elevationM - LEVEL_M) return;
    yield {
      at: at(start.line.slots['altitude']?.span ?? start.line.span),
      message: `a start at ${show.altitude(start.altitudeM, 'down')} lies below ${point.meaning.name}, which is at ${show.altitude(elevationM, 'up')}. Write a greater height.`,
      related: [{ at: point.at, message: `the start, ${point.meaning.name}` }],
    };
  },
  *leg(leg, context) {
    const { show } = context;
    for (const [i, climb] of leg.climbs.entries()) {
      const { fromAltitudeM, toAltitudeM } = climb;
      if (climb.goesDown && fromAltitudeM !== undefined) {
        const before = heightBefore(leg, i);
        const to = show.altitude(toAltitudeM);
        const from = show.altitude(fromAltitudeM);
        const where = climb.afterM === undefined ? `overhead ${leg.fromName}` : `after ${show.distance(climb.afterM)}`;
        const problem =
          from === to
            ? `a climb to ${to} gains nothing: the glider is as high ${where}`
            : `a climb to ${to} leads down: the glider is at ${from} ${where}`;
        yield {
          at: context.at(slotSpan(climb, 'altitude')),
          message: `${problem}. Write a greater height, or take the line out.`,
          related: before ? [{ at: context.at(before.span), message: 'the height before it is set here' }] : [],
        };
      }
      const groundM = climb.afterM === undefined ? leg.from?.meaning.elevationM : undefined;
      if (!climb.goesDown && leg.from && groundM !== undefined && toAltitudeM < groundM - LEVEL_M) {
        yield {
          at: context.at(slotSpan(climb, 'altitude')),
          message: `a climb to ${show.altitude(toAltitudeM, 'down')} ends below ${leg.fromName}, which is at ${show.altitude(groundM, 'up')}. Write a greater height.`,
          related: [{ at: leg.from.at, message: `the place of the climb, ${leg.fromName}` }],
        };
      }
      if (climb.beyondLeg && leg.result) {
        yield {
          at: context.at(slotSpan(climb, 'after')),
          message: `${show.distance(climb.afterM ?? 0)} lies beyond the end of leg ${leg.number} to ${leg.toName}, which is ${show.distance(leg.result.distanceM)} long. Write a shorter distance, or move the climb to the leg that it is on.`,
        };
      }
    }
  },
};
