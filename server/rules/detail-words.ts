/** Other words of the trade for details, by the entry that has them. Common practice, no source. */
import { CONNECTORS, ENTRIES, type EntryForm, slotsOf } from '../../grammar/vocabulary.ts';

const NOTE = {
  comment: 'note',
  remark: 'note',
  remarks: 'note',
  notes: 'note',
};
/** Of what stands on the ground, the height is that of the ground above the sea. */
const GROUND = { height: 'elevation', altitude: 'elevation' };
const MEANT: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  units: { height: 'altitude', heights: 'altitude', vario: 'climb', variometer: 'climb', weight: 'mass' },
  field: { ...GROUND, radio: 'frequency', rwy: 'runway', strip: 'runway' },
  turnpoint: GROUND,
  // Its height may be that above the ground, which `top` is not.
  obstacle: { altitude: 'top', elevation: 'top' },
  aircraft: { mtow: 'maximum mass', mtom: 'maximum mass', stall: 'vs', water: 'ballast up to' },
  weather: { pressure: 'qnh', oat: 'temperature', clouds: 'cloudbase', base: 'cloudbase', ceiling: 'cloudbase' },
  reserve: { safety: 'arrive', margin: 'arrive', arrival: 'arrive' },
  task: {
    glider: 'aircraft',
    departure: 'start',
    via: 'turn',
    landing: 'finish',
    goal: 'finish',
    destination: 'finish',
  },
};

/** By the keyword of the entry, and by the other word. */
export const OTHER_WORDS: ReadonlyMap<string, ReadonlyMap<string, string>> = new Map(
  ENTRIES.map(({ keyword, details }) => {
    const everywhere = details.some(({ id }) => id === 'note') ? NOTE : {};
    return [keyword, new Map(Object.entries({ ...everywhere, ...MEANT[keyword] }))];
  }),
);

/** The detail that another word of the trade stands for in an entry with this keyword; undefined for any other word. */
export function detailMeant(keyword: string, word: string): string | undefined {
  return OTHER_WORDS.get(keyword)?.get(word.toLowerCase());
}

/** Words for the coordinates of a place, which its first line has. */
const WHERE: ReadonlySet<string> = new Set('at position pos coordinates lat latitude lon longitude'.split(' '));

/** Whether a word says where an entry is, and that belongs to its first line. */
export function saysWhere({ head }: EntryForm, word: string): boolean {
  return WHERE.has(word.toLowerCase()) && [...slotsOf(head).values()].some(({ kind }) => kind === 'coordinates');
}

/** The details that end in a word, and begin with another: `polar mass`, `empty mass` and `maximum mass` of `mass`. */
export function endingIn({ details }: EntryForm, word: string): string[] {
  if (CONNECTORS.has(word)) return [];
  return details.flatMap(({ id, leading }) => (leading.length > 1 && leading.at(-1) === word ? [id] : []));
}
