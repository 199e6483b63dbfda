/** What the rules of the flight advise is tried: the plan is rewritten as told, and the finding is gone. */
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { fromSi, toSi, unitOf } from '../../grammar/units.ts';
import type { LegEvaluation } from '../../server/plan/task.ts';
import { understand } from '../../server/plan/understand.ts';
import type { Finding } from '../../server/rules/rule.ts';
import { checked } from './helper.ts';

const LOW = new Set(['below-reserve', 'below-turn-height', 'reaches-ground']);
const LOW_OR_THIN = new Set([...LOW, 'thin-margin']);

interface Stop {
  readonly landable: boolean;
  readonly line: string;
}

interface Plan {
  readonly before: string;
  /** The itinerary: for each leg the lines of its climbs, then its own line without a speed, and the speed. */
  readonly start: string;
  readonly legs: readonly { readonly climbs: readonly string[]; readonly to: string; readonly speed: string }[];
}

function textOf({ before, start, legs }: Plan): string {
  const lines = legs.flatMap(({ climbs, to, speed }) => [...climbs, `${to}${speed}`]);
  return `${before}task Random\n  aircraft Rook with pilot 80 kg\n  weather Day\n  reserve Own\n${[start, ...lines]
    .map((line) => `  ${line}\n`)
    .join('')}`;
}

const whole = (min: number, max: number) => fc.integer({ min, max });

const anyStop = (index: number): fc.Arbitrary<Stop> =>
  fc
    .record({ lat: whole(0, 3500), lon: whole(0, 3500), elevation: whole(0, 900), landable: fc.boolean() })
    .map(({ lat, lon, elevation, landable }) => {
      const [n, e] = [lat, lon].map((offset, i) => ((i === 0 ? 470_000 : 190_000) + offset) / 10_000) as [
        number,
        number,
      ];
      const kind = landable ? 'field' : 'turnpoint';
      return { landable, line: `${kind} P${index} at ${n} N ${e} E\n  elevation ${elevation} m\n` };
    });

const anyWind = (altitude: string) =>
  fc.tuple(whole(0, 359), whole(0, 30)).map(([from, speed]) => `  wind ${altitude} from ${from}° at ${speed} kt\n`);

const anySpeed = fc.oneof(
  fc.constant(''),
  whole(40, 110).map((speed) => ` at ${speed} kt`),
  whole(70, 200).map((speed) => ` at ${speed} km/h`),
  fc.constantFrom(' at 39 kt', ' at 41 kt', ' at 43 kt'),
  whole(0, 6).map((climb) => ` at maccready ${climb} kt`),
);

const anyClimb = fc
  .tuple(whole(1000, 9000), fc.option(whole(1, 30)))
  .map(([top, after]) => (after === null ? `climb to ${top} ft MSL` : `climb to ${top} ft MSL after ${after} km`));

const anyPlan: fc.Arbitrary<Plan> = fc
  .record({
    units: fc.record({
      altitude: fc.constantFrom('ft', 'm'),
      distance: fc.constantFrom('NM', 'km', 'mi'),
      speed: fc.constantFrom('kt', 'km/h', 'mph', 'm/s'),
    }),
    stops: fc.tuple(anyStop(0), anyStop(1), anyStop(2), anyStop(3)),
    polar: fc.record({ ratio: whole(24, 45), speed: whole(46, 60), share: fc.constantFrom(0.8, 0.87, 0.93) }),
    vno: fc.boolean(),
    winds: fc.tuple(anyWind('surface'), anyWind('3000 ft MSL'), fc.option(anyWind('6000 ft MSL'))),
    sink: whole(0, 2),
    qnh: whole(980, 1040),
    reserve: fc.record({
      arrive: whole(0, 1200),
      turn: whole(0, 1600),
      share: whole(50, 100),
      altimeter: whole(0, 200),
    }),
    start: whole(1000, 8000),
    climbs: fc.array(fc.option(anyClimb), { minLength: 3, maxLength: 3 }),
    speeds: fc.array(anySpeed, { minLength: 3, maxLength: 3 }),
  })
  .map(({ units, stops, polar, vno, winds, sink, qnh, reserve, start, climbs, speeds }) => {
    const sinkAtBest = polar.speed / polar.ratio;
    const before = [
      `units\n  altitude ${units.altitude}\n  distance ${units.distance}\n  speed ${units.speed}\n`,
      ...stops.map(({ line }) => line),
      `aircraft Rook\n  best glide ${polar.ratio}:1 at ${polar.speed} kt\n  minimum sink ${(sinkAtBest * polar.share).toFixed(3)} kt at ${polar.speed - 7} kt\n`,
      `  polar mass 320 kg\n  empty mass 240 kg\n  maximum mass 420 kg\n  vs 35 kt\n  vne 130 kt\n${vno ? '  vno 90 kt\n' : ''}`,
      `weather Day\n  qnh ${qnh} hPa\n  temperature 20 °C at 300 m MSL\n  sink ${sink / 4} kt\n  lift 3 kt to 6000 ft MSL\n${winds.map((wind) => wind ?? '').join('')}`,
      `reserve Own\n  arrive ${reserve.arrive} ft AGL\n  turn ${reserve.turn} ft AGL\n  performance ${reserve.share} %\n  altimeter ${reserve.altimeter} ft\n`,
    ].join('');
    const legs = [1, 2, 3].map((i) => ({
      climbs: climbs[i - 1] ? [climbs[i - 1] as string] : [],
      to: `${i === 3 ? 'finish' : 'turn'} P${i}`,
      speed: speeds[i - 1] as string,
    }));
    return { before, start: `start P0 at ${start} ft MSL`, legs };
  });

interface Told {
  readonly finding: Finding;
  readonly leg: LegEvaluation;
}

/** The legs that arrive too low, with the finding that says so. */
function tooLow(plan: Plan, codes = LOW): Told[] {
  const { workspace, file, findings } = checked(textOf(plan));
  const [evaluation] = understand(workspace, file).tasks;
  return findings
    .filter(({ code, message }) => codes.has(code) && message.startsWith('leg '))
    .map((finding) => {
      const number = Number(/^leg (\d)/.exec(finding.message)?.[1]);
      return { finding, leg: evaluation?.legs[number - 1] as LegEvaluation };
    });
}

function change(plan: Plan, leg: LegEvaluation, to: Partial<Plan['legs'][number]>): Plan {
  return { ...plan, legs: plan.legs.map((one, i) => (i === leg.number - 1 ? { ...one, ...to } : one)) };
}

const numberIn = (text: string) => Number(text.replaceAll(',', ''));

/** The plans that come of following a message, one for each way out. */
function followed(plan: Plan, { finding, leg }: Told): { way: string; plan: Plan }[] {
  const ways: { way: string; plan: Plan }[] = [];
  const { message } = finding;
  const own = plan.legs[leg.number - 1] as Plan['legs'][number];
  const leave = /[Ll]eave P\d at ([\d,]+ (?:ft|m)) MSL/.exec(message)?.[1];
  if (leave)
    ways.push({
      way: 'leave',
      plan: change(plan, leg, { climbs: [...own.climbs, `climb to ${leave.replace(',', '')} MSL`] }),
    });
  const climb = /[Cc]limb to ([\d,]+ (?:ft|m)) MSL/.exec(message)?.[1];
  if (climb) {
    const climbs = own.climbs.map((line) => line.replace(/to .* MSL/, `to ${climb.replace(',', '')} MSL`));
    ways.push({ way: 'climb', plan: change(plan, leg, { climbs }) });
  }
  const speed = /[Ff]ly ([\d.]+ \S+)\.$/.exec(message)?.[1];
  if (speed) ways.push({ way: 'speed', plan: change(plan, leg, { speed: ` at ${speed}` }) });
  if (/[Ff]ly at best glide\.$/.test(message)) ways.push({ way: 'best glide', plan: change(plan, leg, { speed: '' }) });
  return ways;
}

test('a plan that follows the advice arrives with the height asked', () => {
  const tried: Record<string, number> = {};
  fc.assert(
    fc.property(anyPlan, (plan) => {
      for (const told of tooLow(plan, LOW_OR_THIN)) {
        for (const { way, plan: mended } of followed(plan, told)) {
          tried[way] = (tried[way] ?? 0) + 1;
          const codes = told.finding.code === 'thin-margin' ? LOW_OR_THIN : LOW;
          const still = tooLow(mended, codes).find(({ leg }) => leg.number === told.leg.number);
          if (still) expect.fail(`${told.finding.message}\n${way}: ${still.finding.message}\n${textOf(plan)}`);
        }
      }
    }),
    { numRuns: 400 },
  );
  for (const way of ['leave', 'climb', 'speed', 'best glide']) expect(tried[way] ?? 0, way).toBeGreaterThan(3);
});

test('what a message says is what the leg computes, rounded to the safe side, and it adds up', () => {
  let seen = 0;
  fc.assert(
    fc.property(anyPlan, (plan) => {
      for (const { finding, leg } of tooLow(plan)) {
        const { result, input } = leg;
        if (!input || !result || result.problem !== null) throw new Error('a leg that is told of is flown');
        const { message, code } = finding;
        seen += 1;
        if (code === 'reaches-ground') {
          expect(result.reachesGroundAfterM).not.toBeNull();
          const parts = /ground ([\d,.]+) (NM|km|mi) short: .*? after ([\d,.]+) /.exec(message);
          if (!parts) {
            expect(message).toMatch(/below the ground at P\d/);
            continue;
          }
          const unit = unitOf(parts[2] as string);
          if (!unit) throw new Error(message);
          const [short, after] = [numberIn(parts[1] as string), numberIn(parts[3] as string)];
          const computed = fromSi(result.distanceM - (result.reachesGroundAfterM ?? 0), unit);
          expect(short).toBeGreaterThanOrEqual(Math.min(computed, short + after) - 0.0501);
          expect(short).toBeLessThan(computed + 0.1001);
          expect(short + after).toBeCloseTo(fromSi(result.distanceM, unit), 0);
          continue;
        }
        expect(result.reachesGroundAfterM).toBeNull();
        const parts = /arrives ([\d,]+) (ft|m) below .*?: ([\d,]+) \S+ above .*?, ([\d,]+) \S+ asked/.exec(message);
        const unit = unitOf(parts?.[2] ?? '');
        if (!parts || !unit) throw new Error(message);
        const [short, arrival, asked] = [1, 3, 4].map((i) => numberIn(parts[i] as string)) as [number, number, number];
        expect(asked - arrival).toBe(short);
        expect(short).toBeGreaterThan(0);
        const askedM = input.destination.reserveM + input.destination.altimeterM;
        expect(fromSi(result.arriveHeightM, unit) - arrival).toBeGreaterThan(-1e-3);
        expect(fromSi(result.arriveHeightM, unit) - arrival).toBeLessThan(1);
        expect(asked - fromSi(askedM, unit)).toBeGreaterThan(-1e-3);
        expect(asked - fromSi(askedM, unit)).toBeLessThan(1);
        const height = /(?:[Ll]eave P\d at|[Cc]limb to) ([\d,]+) (?:ft|m) MSL/.exec(message)?.[1];
        if (height && result.requiredDepartAltitudeM !== null) {
          const over = toSi(numberIn(height), unit) - result.requiredDepartAltitudeM;
          expect(over).toBeGreaterThan(-1e-3);
          expect(over).toBeLessThan(unit.factor);
        }
      }
    }),
    { numRuns: 300 },
  );
  expect(seen).toBeGreaterThan(100);
});
