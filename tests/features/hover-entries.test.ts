/** Hovers of names: what stands in the entry, and nothing that is assumed in the place of a line that cannot be read. */
import { expect, test } from 'vitest';
import { hover } from '../../server/features/hover.ts';
import { marked } from './marked.ts';

/** The lines of the hover at the caret, below the name of the entry. */
function hoverLines(text: string): string[] {
  const { understood, position } = marked(text);
  const contents = hover(understood, position)?.contents as { value: string } | undefined;
  return contents?.value.split('\n').map((line) => line.trimEnd()) ?? [];
}

test('a line that cannot be read is said to be so, and nothing is assumed in its place', () => {
  for (const performance of ['0.5:1', '70', 'of 70 %'])
    expect(hoverLines(`reserve $0P4\n  arrive 1000 ft AGL\n  performance ${performance}\n`)).toEqual([
      '**reserve P4**',
      '1,000 ft over a field',
      `cannot be read: performance ${performance}`,
    ]);
  expect(hoverLines('reserve $0P4\n  arrive 1000 ft AGL\n')).toContain('plans on the whole polar');
  expect(hoverLines('weather $0Bw\n  qnh   1018\n  lift  3 to *5000* ft MSL\n')).toEqual([
    '**weather Bw**',
    'cannot be read: qnh 1018',
    'cannot be read: lift 3 to \\*5000\\* ft MSL',
  ]);
  expect(hoverLines('weather $0Bw\n  sink 1 kt\n')[1]).toBe('no QNH: 1013.25 hPa is assumed');
  expect(hoverLines('aircraft $0A\n  best glid 32:1 at 49 kt\n')).not.toContain('no polar');
  expect(hoverLines('aircraft $0A\n  vne 120 kt\n')).toContain('no polar');
});

test('of many lines that cannot be read the rest is counted', () => {
  const lines = (count: number) =>
    hoverLines(`reserve $0A\n${Array.from({ length: count }, (_, i) => `  turn ${i}\n`).join('')}`);
  expect(lines(5)).toHaveLength(7);
  expect(lines(6).slice(-2)).toEqual(['cannot be read: turn 3', 'and 2 more lines']);
});

test('times and notes of every kind of entry', () => {
  const note = '  note "Ask *first*."\n';
  const noted = 'Ask \\*first\\*.';
  expect(
    hoverLines(
      `airspace $0Glen\n  floor 2500 ft MSL\n  ceiling FL65\n  circle 47.4 N 19.3 E radius 4 NM\n  active 09:00Z  to 12:00Z\n  active 14:00+02:00 to 17:00Z\n  active 9 to 10\n${note}`,
    ),
  ).toEqual([
    '**airspace Glen**',
    'from 2,500 ft MSL to FL65',
    'circle of 4.0 NM',
    'active 09:00Z to 12:00Z',
    'active 14:00\\+02:00 to 17:00Z',
    'cannot be read: active 9 to 10',
    noted,
  ]);
  expect(hoverLines(`weather $0W\n  qnh 1018 hPa\n  thermals  11:30Z to 16:45Z\n${note}`)).toEqual([
    '**weather W**',
    'QNH 1018 hPa',
    'thermals 11:30Z to 16:45Z',
    noted,
  ]);
  expect(hoverLines(`reserve $0R\n  arrive 1000 ft AGL\n${note}`)).toContain(noted);
  expect(hoverLines(`obstacle $0O at 47.2 N 19.5 E\n  top 1320 ft MSL\n${note}`)).toContain(noted);
  expect(hoverLines(`limits $0L\n  crosswind 8 kt\n${note}`)).toContain(noted);
  expect(
    hoverLines(`field $0F at 47.2 N 19.5 E\n  elevation 190 m\n${note}${note}`).filter((one) => one === noted),
  ).toHaveLength(2);
  expect(hoverLines(`turnpoint $0F at 47.2 N 19.5 E\n  elevation 190 m\n${note}`)).toContain(noted);
  expect(hoverLines(`aircraft $0F\n  vne 120 kt\n${note}`)).toContain(noted);
  expect(hoverLines(`task $0F\n${note}`)).toContain(noted);
});
