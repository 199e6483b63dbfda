import { climbsOf, type LegEvaluation } from '../plan/task.ts';
import {
  arrivalExcess,
  countedFrom,
  eastTask,
  heightsApart,
  legName,
  legPlace,
  legRelated,
  partAndRest,
  wayOut,
} from './leg-words.ts';
import type { Found, Rule, TaskContext } from './rule.ts';

/** A climb on the way that begins below the ground at both ends of its leg, though the leg itself gets there. */
function* underground(leg: LegEvaluation, context: TaskContext): Iterable<Found> {
  const { show } = context;
  const groundM = leg.input?.lowestM ?? -Infinity;
  const climb = climbsOf(leg).find((one) => one.afterM !== undefined && (one.fromAltitudeM ?? Infinity) < groundM);
  if (!climb || climb.fromAltitudeM === undefined || climb.afterM === undefined) return;
  const { by, excess } = heightsApart(groundM, climb.fromAltitudeM, show);
  yield {
    at: context.at(climb.line.span),
    message: `the climb ${show.distance(climb.afterM)} along ${legName(leg)} starts ${by} below the ground: at ${show.altitude(climb.fromAltitudeM, 'down')}, and both ends of the leg lie at ${show.altitude(groundM)} or higher. Leave ${leg.fromName} higher, or climb sooner.`,
    related: legRelated(leg, context),
    excess,
  };
}

/** A leg that is down to the height of its destination before it gets there. */
export const reachesGround: Rule = {
  code: 'reaches-ground',
  severity: 'error',
  title: 'A leg reaches the ground before its end',
  page: {
    means:
      'The glide is down to the height of its destination before it gets there. The ground between is not looked at: where it is higher, the glide ends sooner.',
    why: 'This leg ends in a field that nobody chose. No reserve, no circuit and no second thought is left; only height before the leg, or a climb on it, brings the glider there.',
    bad: eastTask({ start: 'Larkfield at 2200 ft MSL' }),
    good: eastTask(),
    turnDown:
      'It is not turned off: leave higher, climb on the way, fly slower, or plan the landing on a nearer field. `severity` in the settings can make it a warning, no less.',
  },
  *leg(leg, context) {
    const { result, input } = leg;
    if (!result || !input) return;
    const { show } = context;
    // What comes first is told first: a climb behind it does not bring back a glider that is on the ground.
    if (!result.problem || result.reachesGroundAfterM !== null) yield* underground(leg, context);
    if (result.reachesGroundAfterM === null) return;
    const last = result.climbs.at(-1);
    const { elevationM } = input.destination;
    const elevation = show.altitude(elevationM, 'up');
    const counted = countedFrom(leg, show);
    const fromM = last?.afterM ?? 0;
    const startM = last ? Math.max(last.fromAltitudeM, last.toAltitudeM) : result.departAltitudeM;
    let what: string;
    if (startM <= elevationM) {
      const { by } = heightsApart(elevationM, startM, show);
      const where = last ? `climbs on the way, ${show.distance(fromM)} on, to` : 'starts';
      what = `${where} ${by} below the ground at ${leg.toName}, which lies at ${elevation}`;
    } else {
      const { part, rest } = partAndRest(result.distanceM - result.reachesGroundAfterM, result.distanceM, show);
      what = `reaches the ground ${part} short: it is down to the height of ${leg.toName}, ${elevation}, after ${rest}`;
    }
    yield {
      at: legPlace(leg, context),
      message: `${legName(leg)} ${what}${counted}.${wayOut(leg, context)}`,
      related: legRelated(leg, context),
      ...(result.problem ? {} : { excess: arrivalExcess(result) }),
    };
  },
};
