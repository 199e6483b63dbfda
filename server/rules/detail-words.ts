/** Other words of the trade for details, by the entry that has them. Common practice, no source. */
import { ENTRIES } from '../../grammar/vocabulary.ts';

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
