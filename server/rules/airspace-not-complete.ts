import { type AirspacesOfTask, airspacesOf } from '../plan/airspace.ts';
import type { Airspace } from '../plan/meaning.ts';
import type { Seen } from '../plan/surroundings.ts';
import { eastTask } from './leg-words.ts';
import type { Rule } from './rule.ts';

const named = (some: readonly Seen<Airspace>[]): string => {
  const names = [...new Set(some.map(({ meaning }) => meaning.name || 'one without a name'))];
  const [first = '', second] = names;
  if (second === undefined) return first;
  return names.length === 2 ? `${first} and ${second}` : `${first} and ${names.length - 1} more`;
};

const are = (some: readonly Seen<Airspace>[]): string =>
  new Set(some.map(({ meaning }) => meaning.name)).size === 1 ? 'is' : 'are';

/** How many of the volumes are checked: `only 2 of the 3 volumes of airspace written in the files of this plan are`. */
function countText(checked: number, written: number): string {
  const volumes = (count: number) => (count === 1 ? 'the 1 volume' : `the ${count} volumes`);
  const behind = 'of airspace written in the files of this plan';
  if (checked === 0)
    return written === 1 ? `${volumes(1)} ${behind} is not` : `none of ${volumes(written)} ${behind} is`;
  const which = checked === written ? volumes(written) : `${checked} of ${volumes(written)}`;
  return `only ${which} ${behind} ${checked === 1 ? 'is' : 'are'}`;
}

const VOLUME = `airspace Aldmere
  floor   5500 ft MSL
  ceiling FL95
  circle  47.2600 N 19.5900 E radius 2 NM
`;

/** The reminder that airspace is checked only as far as somebody wrote it down. */
export const airspaceNotComplete: Rule = {
  code: 'airspace-not-complete',
  severity: 'info',
  title: 'Only the airspace written in the files is checked',
  page: {
    means:
      'The file holds a task, and it or a file that it uses holds an `airspace`: tasks are checked against these volumes and no others. It says as well which of them could not be checked: an outline or a limit that cannot be read, a floor that does not lie below the ceiling, or a limit above ground where the ground is not known.',
    why: 'A plan without a finding of airspace looks clear. It is clear of what somebody wrote down once; the chart in force, the notices of the day and what is activated on the day are not in it.',
    bad: eastTask({}, VOLUME),
    good: eastTask(),
    turnDown:
      'It is meant to stay as a reminder, once a file. `severity` in the settings can make it a hint, or turn it off.',
  },
  *file({ understood }) {
    const [task] = understood.tasks;
    const volumes = task?.surroundings.airspaces ?? [];
    if (!task || volumes.length === 0) return;
    const all = understood.tasks.map(airspacesOf);
    const unread = all[0]?.unread ?? [];
    const of = (which: (one: AirspacesOfTask) => readonly Seen<Airspace>[]) => [...new Set(all.flatMap(which))];
    const unplaced = of((one) => one.unplaced);
    const empty = of((one) => one.empty);
    const emptyOverGround = of((one) => one.emptyOverGround);
    // Those that no task is checked against; of the others one may be for some.
    const never = new Set([...unread, ...empty.filter((one) => all.every((of) => of.empty.includes(one)))]);
    const parts = [`${countText(volumes.length - never.size, volumes.length)} checked`];
    if (unread.length > 0) parts.push(`${named(unread)} cannot be read and ${are(unread)} not checked`);
    if (empty.length > 0) {
      const some = empty.every((one) => never.has(one)) ? '' : ', by the QNH of a task';
      parts.push(`${named(empty)} ${are(empty)} not checked: the ceiling does not lie above the floor${some}`);
    }
    if (unplaced.length > 0)
      parts.push(
        `${named(unplaced)} ${are(unplaced)} not checked where the ground below ${unplaced.length === 1 ? 'its' : 'their'} limits is not known`,
      );
    if (emptyOverGround.length > 0)
      parts.push(
        `${named(emptyOverGround)} ${are(emptyOverGround)} not checked over the ground below the legs: the ceiling does not lie above the floor there`,
      );
    const { entry } = task;
    yield {
      at: { uri: understood.file.uri, entry, span: entry.name?.span ?? entry.head?.span ?? entry.span },
      message: `${parts.join('; ')}. Look at the chart in force and the notices of the day.`,
      related: [...new Set([...unread, ...empty, ...unplaced, ...emptyOverGround])]
        .slice(0, 3)
        .map(({ at, meaning }) => ({ at, message: `${meaning.name} is written here` })),
    };
  },
};
