/** Random task plans, made from the vocabulary itself, so that a new form is in the tests the moment it is in the table. */
import fc from 'fast-check';
import { type Element, ENTRIES, type Form, KEYWORDS, type Slot } from '../../grammar/vocabulary.ts';

interface Piece {
  readonly text: string;
  /** May be written in any case. */
  readonly loose: boolean;
}

const loose = (...texts: string[]): fc.Arbitrary<Piece[]> =>
  fc.constantFrom(...texts).map((text) => text.split(' ').map((part) => ({ text: part, loose: true })));
const exact = (...texts: string[]): fc.Arbitrary<Piece[]> =>
  fc.constantFrom(...texts).map((text) => [{ text, loose: false }]);
const joined = (...parts: fc.Arbitrary<Piece[]>[]): fc.Arbitrary<Piece[]> =>
  fc.tuple(...parts).map((all) => all.flat());

const number = fc
  .tuple(
    fc.nat(99_999),
    fc.constantFrom('', '', '.0', '.50', '.125', '.000000000000000000001'),
    fc.constantFrom('', '', '', '-', '+', '0'),
  )
  .map(([whole, fraction, sign]): Piece[] => [{ text: `${sign}${whole}${fraction}`, loose: false }]);
const quantity = (...units: string[]) => joined(number, loose(...units));
const name = fc.oneof(
  exact(
    'Larkfield',
    'Withy-Bridge',
    '"Withy Bridge"',
    '"turn  at #"',
    'Öland',
    '"Corran Dam"',
    'ŁĄKA_2',
    'e\u0301tang',
    'm',
    'C',
    '""',
    '東',
  ),
  fc
    .string({ unit: 'binary', maxLength: 8 })
    .map((text): Piece[] => [{ text: `"${text.replace(/["\r\n]/g, '')}"`, loose: false }]),
  fc
    .stringMatching(/^[\p{L}_][\p{L}\p{N}_-]{0,6}$/u)
    .filter((text) => !KEYWORDS.has(text.toLowerCase()) && !/^fl\d/i.test(text))
    .map((text): Piece[] => [{ text, loose: false }]),
);
const altitude = fc.oneof(quantity('ft MSL', 'm AGL', 'km msl', 'm', 'foot', 'ft'), loose('FL65', 'FL095'), number);
const angle = (letters: string) =>
  fc.oneof(
    joined(exact('47.2031', '9', '019.44100', '47.2031°'), loose(...letters)),
    joined(exact("47°12.19'", `47°12'11"`, "47°12'11''", '047° 12.190′', '47°12′ 11.50″'), loose(...letters)),
  );

function slotPieces(slot: Slot): fc.Arbitrary<Piece[]> {
  switch (slot.kind) {
    case 'length':
      return quantity('m', 'km', 'ft', 'NM', 'mi', 'furlong', 'kg');
    case 'speed':
      return quantity('kt', 'km/h', 'mph', 'm/s');
    case 'climb':
      return quantity('kt', 'm/s', 'ft/min');
    case 'mass':
      return quantity('kg', 'lb');
    case 'pressure':
      return quantity('hPa', 'inHg');
    case 'temperature':
      return quantity('°C', '°F', 'C', 'F', '° C');
    case 'direction':
      return quantity('°', '°M', '° m');
    case 'share':
      return quantity('%');
    case 'duration':
      return fc.oneof(quantity('h', 'min'), joined(quantity('h'), quantity('min')));
    case 'frequency':
      return quantity('MHz');
    case 'altitude':
      return altitude;
    case 'elevation':
      return quantity('m', 'ft', 'm MSL', 'ft msl');
    case 'name':
      return name;
    case 'text':
      return exact('"a  note # no comment"', '"club/fields.taskplan"', '""');
    case 'coordinates':
      return joined(angle('NS'), angle('EW'));
    case 'date':
      return exact('2026-06-13', '2026-6-1');
    case 'time':
      return loose('11:30Z', '13:30+02:00', '13:30+0200', '9:05:30Z', '11:30');
    case 'ratio':
      return exact('32:1', '28.5:1');
    case 'performance':
      return fc.oneof(exact('20:1'), quantity('%'));
    case 'runway':
      return loose('18/36', '09L/27R', '24', '06C');
    case 'unit':
    case 'choice':
      return loose(...(slot.of ?? []));
    case 'word':
      return exact('grass', 'Gras', 'béton');
  }
}

function pieces(elements: readonly Element[]): fc.Arbitrary<Piece[]> {
  return joined(
    ...elements.map((element) => {
      if ('word' in element) return element.word === '±' ? exact('±', '+-', '+/-') : loose(element.word);
      if ('optional' in element) return fc.oneof(fc.constant<Piece[]>([]), pieces(element.optional));
      if ('either' in element) return fc.oneof(...element.either.map(pieces));
      return slotPieces(element);
    }),
  );
}

const space = fc.constantFrom(' ', ' ', ' ', '  ', '\t', '\u00a0', ' \t  ');
const comment = fc.oneof(
  fc.constant(''),
  fc.constant(''),
  fc.constantFrom('#', '# a comment', '  #x "y', ' #  two  spaces  ', '\t# ends in spaces  \t'),
);

/** A line that follows `form`: in odd spacing and case, with or without a comment. */
export function lineOf(form: Form): fc.Arbitrary<string> {
  return fc
    .tuple(pieces(form.elements), fc.array(space, { minLength: 40, maxLength: 40 }), fc.nat(0xffff), comment)
    .map(([all, spaces, cases, end]) => {
      let out = '';
      for (const [i, piece] of all.entries()) {
        const text = !piece.loose || ((cases >> (i % 16)) & 3) !== 3 ? piece.text : piece.text.toUpperCase();
        out += (i > 0 ? spaces[i % 40] : '') + text;
      }
      return `${out}${end === '#' ? ' #' : end}`;
    });
}

const filler = fc.constantFrom('', '', '   ', '# left', '  # indented  ', '\t', '\t#tab');
const indent = fc.constantFrom('  ', '  ', ' ', '\t', '    ');

const entry: fc.Arbitrary<string[]> = fc.constantFrom(...ENTRIES).chain((form) => {
  const detail =
    form.details.length === 0
      ? fc.constant('# none')
      : fc.tuple(indent, fc.constantFrom(...form.details).chain(lineOf)).map(([by, text]) => by + text);
  return fc
    .tuple(
      lineOf(form.head),
      fc.array(fc.oneof({ weight: 4, arbitrary: detail }, { weight: 1, arbitrary: filler }), { maxLength: 6 }),
    )
    .map(([head, details]) => [head, ...details]);
});

/** Well-formed plans in every odd layout: byte order marks, kinds of line end, comments, empty lines, tabs, capitals. */
export const plan: fc.Arbitrary<string> = fc
  .tuple(
    fc.constantFrom('', '', '\uFEFF'),
    fc.array(filler, { maxLength: 2 }),
    fc.array(entry, { maxLength: 4 }),
    fc.constantFrom('\n', '\n', '\r\n', '\r'),
    fc.constantFrom('', '\n', '\n\n\n'),
  )
  .map(([bom, before, entries, lineEnd, end]) => bom + [...before, ...entries.flat()].join(lineEnd) + end);

const scrap = fc.oneof(
  fc.constantFrom(
    '"',
    '#',
    '\n',
    '\r',
    ' ',
    '°',
    "'",
    '±',
    ',',
    'at',
    ' turn ',
    '\n  ',
    '\nfield ',
    '\0',
    '\ud800',
    '\uFEFF',
    '1',
    '.',
    '/',
    ':',
    'FL',
    '-',
  ),
  fc.string({ unit: 'binary', maxLength: 5 }),
);

/** A text with a few random cuts and insertions. */
export const mutated = (text: fc.Arbitrary<string>): fc.Arbitrary<string> =>
  fc.tuple(text, fc.array(fc.tuple(fc.nat(), fc.nat(3), scrap), { minLength: 1, maxLength: 4 })).map(([whole, edits]) =>
    edits.reduce((now, [at, cut, put]) => {
      const place = at % (now.length + 1);
      return now.slice(0, place) + put + now.slice(place + cut);
    }, whole),
  );

/** Any text at all, lone surrogates and NUL among it. */
export const anyText: fc.Arbitrary<string> = fc.oneof(
  fc.string({ unit: 'binary', maxLength: 60 }),
  fc.array(fc.integer({ min: 0, max: 0xffff }), { maxLength: 60 }).map((codes) => String.fromCharCode(...codes)),
  fc.array(scrap, { maxLength: 30 }).map((all) => all.join('')),
  fc
    .array(fc.constantFrom(...KEYWORDS, '\n', '\n  ', ' ', '"a"', '75 kt', 'FL65', '#'), { maxLength: 30 })
    .map((all) => all.join(' ')),
);
