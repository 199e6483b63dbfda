/** Labels of the drawings: none lies on another, and the box of the least margin covers no path. */
import { DOMParser, type Element } from '@xmldom/xmldom';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Picture, pictureOf } from '../../server/plan/picture.ts';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile } from '../../server/plan/workspace.ts';
import { widthOf } from '../../server/reports/draw/ink.ts';
import { type Box, crosses, Places } from '../../server/reports/draw/labels.ts';
import { planView } from '../../server/reports/draw/plan-view.ts';
import { sideView } from '../../server/reports/draw/side-view.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { elements } from './brief-helper.ts';
import { sampleWorkspace } from './samples.ts';

/** As the flight view draws, and as both papers do. */
const SIZES = {
  screen: { width: 700, height: 330 },
  narrow: { width: 320, height: 240 },
  a4: { width: 392, height: 120, fontSize: 8, leastSize: 8, bare: true, ink: 'print' },
  a5: { width: 235, height: 104, fontSize: 8, leastSize: 8, bare: true, ink: 'print', winds: false },
} as const;
type Size = (typeof SIZES)[keyof typeof SIZES];

const read = (svg: string): Element => new DOMParser().parseFromString(svg, 'image/svg+xml').documentElement as Element;
const numberOf = (of: Element, name: string) => Number(of.getAttribute(name));
const classOf = (of: Element) => of.getAttribute('class') ?? '';

interface Label {
  readonly said: string;
  readonly box: Box;
}

/** Every text of a drawing with the box of its letters: from a little below the baseline to the top of a capital. */
function labelsOf(root: Element): Label[] {
  return elements(root, 'text')
    .filter((text) => classOf(text) !== 'lw-halo')
    .map((text) => {
      const said = text.textContent ?? '';
      const size = numberOf(text, 'font-size');
      const width = widthOf(said, size, text.getAttribute('font-weight') === 'bold');
      const [x, y] = [numberOf(text, 'x'), numberOf(text, 'y')];
      const left = { start: 0, middle: width / 2, end: width }[text.getAttribute('text-anchor') ?? 'start'] ?? 0;
      const height = size * 0.92;
      return text.hasAttribute('transform')
        ? { said, box: { x: x - size * 0.75, y: y - (width - left), width: height, height: width } }
        : { said, box: { x: x - left, y: y - size * 0.75, width, height } };
    });
}

/** How far two boxes lie over each other, in the direction in which it is less. */
function overlap({ box: a }: Label, { box: b }: Label): number {
  const wide = Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x);
  const tall = Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y);
  return Math.min(wide, tall);
}

function overlapping(root: Element): string[] {
  const labels = labelsOf(root);
  return labels.flatMap((one, i) =>
    labels.slice(i + 1).flatMap((other) => (overlap(one, other) > 0.5 ? [`${one.said} | ${other.said}`] : [])),
  );
}

/** The lines of the planned path, in px. */
function pathsOf(root: Element): { x: number; y: number }[][] {
  return elements(root, 'path')
    .filter((path) => /^lw-path\b/.test(classOf(path)))
    .flatMap((path) =>
      (path.getAttribute('d') ?? '')
        .split('M')
        .slice(1)
        .map((part) =>
          part.split('L').map((point) => {
            const [x, y] = point.replace('Z', '').split(',').map(Number);
            return { x: x as number, y: y as number };
          }),
        ),
    );
}

function marginBox(root: Element): Box | undefined {
  const group = elements(root, 'g').find((one) => /^lw-margin-group\b/.test(classOf(one)));
  const rect = group && elements(group, 'rect')[0];
  if (!rect) return undefined;
  const [x, y, width, height] = ['x', 'y', 'width', 'height'].map((name) => numberOf(rect, name)) as [
    number,
    number,
    number,
    number,
  ];
  return { x, y, width, height };
}

const covered = (root: Element, box: Box): boolean =>
  pathsOf(root).some((points) => points.some((to, i) => i > 0 && crosses(points[i - 1] as typeof to, to, box)));

function holds(picture: Picture, size: Size): void {
  const side = read(sideView(picture, size));
  expect(overlapping(side)).toEqual([]);
  const box = marginBox(side);
  if (box) expect(covered(side, box)).toBe(false);
  expect(overlapping(read(planView(picture, size)))).toEqual([]);
}

const workspace = sampleWorkspace();
const pictures = [...workspace.files.values()].flatMap((file) => {
  const understood = understand(workspace, file);
  return understood.tasks.map((task) => ({ name: task.task.name, picture: pictureOf(workspace, understood, task) }));
});

describe.each(Object.keys(SIZES) as (keyof typeof SIZES)[])('%s', (size) => {
  test.each(pictures)('$name', ({ picture }) => holds(picture, SIZES[size]));
});

test('the least margin has its number in the side view of every sample, where it is as large as on a screen', () => {
  for (const { name, picture } of pictures)
    if (picture.least)
      expect([name, marginBox(read(sideView(picture, SIZES.screen))) !== undefined]).toEqual([name, true]);
});

const POINTS = ['Larkfield', 'Ashmoor', '"Withy Bridge"', '"Corran Dam"', '"A point with a rather long name"', 'Near'];
const anyTask = fc
  .record({
    start: fc.integer({ min: 1500, max: 9000 }),
    turns: fc.array(
      fc.record({
        point: fc.constantFrom(...POINTS),
        climb: fc.option(fc.integer({ min: 2000, max: 9000 }), { nil: undefined }),
      }),
      { minLength: 1, maxLength: 9 },
    ),
    obstacles: fc.array(
      fc.record({
        east: fc.integer({ min: 0, max: 300 }),
        north: fc.integer({ min: 0, max: 200 }),
        top: fc.integer({ min: 600, max: 4500 }),
      }),
      { maxLength: 8 },
    ),
    ceiling: fc.integer({ min: 2500, max: 9000 }),
  })
  .map(({ start, turns, obstacles, ceiling }) =>
    [
      'use "club.taskplan"\n',
      ...obstacles.map(
        ({ east, north, top }, i) =>
          `obstacle "Mast ${i} of the ridge" at 47.${2000 + north * 8} N 19.${4000 + east * 8} E\n  top ${top} ft MSL\n`,
      ),
      'turnpoint "A point with a rather long name" at 47.2900 N 19.5600 E\n  elevation 150 m\n',
      'turnpoint Near at 47.2050 N 19.4430 E\n  elevation 150 m\n',
      `airspace "Sector of the Moor"\n  floor 2500 ft MSL\n  ceiling ${ceiling} ft MSL\n  circle 47.2600 N 19.5000 E radius 3 NM\n`,
      'task Any\n  aircraft Finch with pilot 82 kg\n  weather  Breezy\n  reserve  Training',
      `  start    Larkfield at ${start} ft MSL`,
      ...turns.flatMap(({ point, climb }) => [
        ...(climb === undefined ? [] : [`  climb    to ${climb} ft MSL`]),
        `  turn     ${point}`,
      ]),
      '  finish   Larkfield\n',
    ].join('\n'),
  );

/** The drawings of each task of a text beside the example club. */
function holdsIn(text: string, size: Size): void {
  const space = createWorkspace(['plan:/']);
  setFile(space, 'plan:/club.taskplan', EXAMPLE_CLUB);
  const understood = understand(space, setFile(space, 'plan:/a.taskplan', text));
  for (const task of understood.tasks) holds(pictureOf(space, understood, task), size);
}

test('any task, at any size', { timeout: 300_000 }, () => {
  fc.assert(
    fc.property(anyTask, fc.constantFrom(...Object.values(SIZES)), (text, size) => {
      holdsIn(text, size);
    }),
    { numRuns: 150 },
  );
});

test('a path does not touch the box of the least margin when both are rounded', () => {
  const text = `use "club.taskplan"
turnpoint Far at 47.2900 N 19.5600 E
  elevation 150 m
turnpoint Near at 47.2050 N 19.4430 E
  elevation 150 m
task Any
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    Larkfield at 1500 ft MSL
  climb    to 7128 ft MSL
  turn     Near
  turn     Far
  turn     "Corran Dam"
  climb    to 8990 ft MSL
  turn     Far
  finish   Larkfield
`;
  holdsIn(text, SIZES.narrow);
  const box = { x: 10, y: 10, width: 10, height: 5 };
  const places = new Places({ x: 0, y: 0, width: 100, height: 30 });
  places.takeLine([
    { x: 0, y: 9.99 },
    { x: 100, y: 9.99 },
  ]);
  expect(places.free([box])).toBe(null);
});

test('a name keeps off the sign of north', () => {
  const text = `use "club.taskplan"
obstacle "Mast 0 of the ridge" at 47.3168 N 19.4984 E
  top 600 ft MSL
turnpoint "A point with a rather long name" at 47.2900 N 19.5600 E
  elevation 150 m
turnpoint Near at 47.2050 N 19.4430 E
  elevation 150 m
task Any
  aircraft Finch with pilot 82 kg
  weather  Breezy
  reserve  Training
  start    Larkfield at 1500 ft MSL
  turn     "Withy Bridge"
  turn     "Corran Dam"
  turn     Larkfield
  finish   Larkfield
`;
  holdsIn(text, SIZES.narrow);
});

test('a line is found to cross a box, and to pass it', () => {
  const box = { x: 10, y: 10, width: 10, height: 5 };
  const at = (x: number, y: number) => ({ x, y });
  expect(crosses(at(0, 0), at(30, 30), box)).toBe(true);
  expect(crosses(at(0, 12), at(30, 12), box)).toBe(true);
  expect(crosses(at(15, 0), at(15, 30), box)).toBe(true);
  expect(crosses(at(12, 12), at(13, 13), box)).toBe(true);
  expect(crosses(at(0, 12), at(9, 12), box)).toBe(false);
  expect(crosses(at(0, 20), at(30, 16), box)).toBe(false);
  expect(crosses(at(0, 9), at(9, 0), box)).toBe(false);
});

test('a place is looked for where the wanted ones are taken, and none is given where there is none', () => {
  const places = new Places({ x: 0, y: 0, width: 100, height: 30 });
  const wanted = [{ x: 40, y: 10, width: 20, height: 10 }];
  expect(places.near(wanted, { x: 50, y: 15 })).toEqual(wanted[0]);
  const next = places.near(wanted, { x: 50, y: 15 }) as Box;
  expect(next.x + next.width <= 40 || next.x >= 60 || next.y + next.height <= 10 || next.y >= 20).toBe(true);
  places.takeLine([
    { x: 0, y: 15 },
    { x: 100, y: 15 },
  ]);
  expect(places.near([{ x: 40, y: 0, width: 20, height: 28 }], { x: 50, y: 15 })).toBe(null);
  expect(places.free([{ x: 90, y: 25, width: 20, height: 10 }])).toBe(null);
});
