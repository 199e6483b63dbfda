/** Fixes for coordinates and times: the letters behind a latitude and a longitude, the zone behind a clock. */
import type { AngleNode, CoordinatesNode } from '../../../grammar/syntax.ts';
import { linesOf } from '../../../grammar/syntax.ts';
import { apart } from '../../rules/apart.ts';
import { replaceIn } from './edit.ts';
import { faultBehind } from './faults.ts';
import type { Fix, FixContext, Fixer } from './fix.ts';
import { shownText } from './writing.ts';

const LATITUDE = ['N', 'S'];
const LONGITUDE = ['E', 'W'];

/** The letters of a kind, those that the files in view use most first. */
function byUse(letters: readonly string[], { understood }: FixContext): { letters: string[]; used: Set<string> } {
  const count = new Map(letters.map((letter) => [letter, 0]));
  for (const file of understood.scope.files) {
    for (const syntax of file.syntax.trees) {
      const node = syntax.head?.slots['position'];
      if (node?.kind !== 'coordinates') continue;
      for (const angle of [node.first, node.second]) {
        const letter = angle?.hemisphere?.text.toUpperCase() ?? '';
        if (count.has(letter)) count.set(letter, (count.get(letter) as number) + 1);
      }
    }
  }
  const used = new Set(letters.filter((letter) => (count.get(letter) as number) > 0));
  return { letters: letters.toSorted((a, b) => (count.get(b) as number) - (count.get(a) as number)), used };
}

const letterOf = (angle: AngleNode) => angle.hemisphere?.text.toUpperCase() ?? '';

function angleText(angle: AngleNode, letter: string, source: string): string {
  const bare = source.slice(angle.span.start, angle.hemisphere?.span.start ?? angle.span.end).trimEnd();
  return angle.notation === 'degrees' && !bare.endsWith('°') ? `${bare} ${letter}` : `${bare}${letter}`;
}

/** The position with its letters, or with its two halves in order. */
export const wholeCoordinates: Fixer = function* (finding, context) {
  const at = faultBehind('coordinates-incomplete', finding, context);
  const node = at?.found.node;
  if (!at || node?.kind !== 'coordinates' || !node.second) return;
  const { first, second } = node as CoordinatesNode & { second: AngleNode };
  const { text: source } = at.spot.placed.syntax;
  const pair = (a: string, b: string, preferred: boolean): Fix => ({
    title: `Write ${shownText(`${a} ${b}`)}`,
    edits: [replaceIn(at.spot, node.span, `${a} ${b}`)],
    preferred,
  });
  if (LONGITUDE.includes(letterOf(first)) && LATITUDE.includes(letterOf(second))) {
    yield pair(angleText(second, letterOf(second), source), angleText(first, letterOf(first), source), true);
    return;
  }
  const north = byUse(LATITUDE, context);
  const east = byUse(LONGITUDE, context);
  const known = (angle: AngleNode, letters: readonly string[]) =>
    letters.includes(letterOf(angle)) ? [letterOf(angle)] : letters;
  const firsts = known(first, north.letters);
  const seconds = known(second, east.letters);
  // Where every place in view lies on one side, so does this one.
  const sure = (letters: readonly string[], used: Set<string>) => letters.length === 1 || used.size === 1;
  const obvious = sure(firsts, north.used) && sure(seconds, east.used);
  for (const [i, a] of firsts.entries()) {
    for (const [j, b] of seconds.entries()) {
      yield pair(angleText(first, a, source), angleText(second, b, source), obvious && i + j === 0);
    }
  }
};

/** The zones of the times in a file, as written, in their order. */
function zonesIn({ understood }: FixContext): string[] {
  const zones = new Set<string>();
  for (const { placed } of understood.entries) {
    for (const line of linesOf(placed.syntax)) {
      for (const node of Object.values(line.slots)) {
        const zone = node?.kind === 'time' ? /[Zz]$|[+-]\d{2}:?\d{2}$/.exec(node.text)?.[0] : undefined;
        if (zone) zones.add(zone.toUpperCase());
      }
    }
  }
  return [...zones];
}

/** The time with the zone that the file uses, and in UTC. */
export const writeZone: Fixer = (finding, context) => {
  const at = faultBehind('zone-missing', finding, context);
  if (!at) return [];
  const { text, span } = at.found.fault;
  const whole = apart(at.found, at.spot.placed.syntax);
  const edit = (time: string) => [replaceIn(at.spot, whole?.span ?? span, time)];
  const clock = whole?.ways[0] ?? text;
  if (/([Zz]|[+-]\d{2}:\d{2})$/.test(clock))
    return [{ title: `Write ${shownText(clock)}`, edits: edit(clock), preferred: true, inOtherNumbers: true }];
  const used = zonesIn(context);
  const zones = [...new Set([...used, 'Z'])];
  return zones.map((zone, i) => ({
    title: zone === 'Z' ? `Write ${clock}Z, in UTC` : `Write ${clock}${zone}, as elsewhere in this file`,
    edits: edit(clock + zone),
    preferred: used.length === 1 && i === 0 && !whole,
    inOtherNumbers: whole !== undefined,
  }));
};
