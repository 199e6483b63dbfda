import type { AirspaceMet } from '../plan/airspace.ts';
import { airspaceRelated, limitText, met } from './airspace-words.ts';
import { eastTask, legName } from './leg-words.ts';
import type { Rule, TaskContext } from './rule.ts';

/** How near: `0.3 NM beside Aldmere`, `120 ft below Aldmere`. */
function howNear({ airspace, besideM, apartM, highM, floorM }: AirspaceMet, { show }: TaskContext): string {
  const { name } = airspace.meaning;
  if (besideM > 0) return `${show.distance(besideM)} beside ${name}`;
  return `${show.height(apartM, 'down')} ${highM <= floorM ? 'below' : 'above'} ${name}`;
}

const ALDMERE = (floor: string) => `airspace Aldmere
  floor   ${floor}
  ceiling FL95
  circle  47.2032 N 19.4411 E radius 3 NM
`;

/** A leg or a climb close to a volume of airspace. */
export const nearAirspace: Rule = {
  code: 'near-airspace',
  severity: 'info',
  title: 'A leg or a climb passes close to a volume of airspace',
  page: {
    means:
      'At the height planned, the leg or the climb passes an `airspace` within 200 ft of its floor or ceiling, or within half a nautical mile of its outline between them, and does not enter it.',
    why: 'An altimeter that is a little off, a strong thermal or a turn on the wrong side is enough to be inside.',
    bad: eastTask({}, ALDMERE('5300 ft MSL')),
    good: eastTask({}, ALDMERE('5900 ft MSL')),
    turnDown: 'Leave more room. `severity` in the settings can make it a warning or a hint, or turn it off.',
  },
  *task(context) {
    const { show } = context;
    for (const one of met(context, 'near')) {
      const { leg, climb, airspace, span, floorM, ceilingM, highM, besideM, apartM, at } = one;
      const what = climb
        ? `the climb to ${show.altitude(climb.toAltitudeM)} comes ${howNear(one, context)}`
        : `${legName(leg)} passes ${howNear(one, context)} at ${show.distance(span.fromM)} after ${leg.fromName}, at ${show.altitude(highM)}`;
      const limits = `its floor is ${limitText(airspace.meaning, 'floor', floorM, show)} and its ceiling ${limitText(airspace.meaning, 'ceiling', ceilingM, show)}`;
      yield {
        at,
        message: `${what}: ${limits}. Leave more room.`,
        related: airspaceRelated(one, context),
        meets: `airspace ${airspace.meaning.name}`,
        excess: besideM > 0 ? { of: 'distance', si: -besideM } : { of: 'height', si: -apartM },
      };
    }
  },
};
