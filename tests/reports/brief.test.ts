/**
 * The sheet against `budget --format json`: every number is read back out of the HTML and the PDF, and is what the JSON
 * says, rounded to the safe side by sums of this test's own.
 */

import type { Element } from '@xmldom/xmldom';
import { describe, expect, test } from 'vitest';
import { evaluateLeg, track } from '../../server/flight/index.ts';
import type { TaskEvaluation } from '../../server/plan/task.ts';
import { type Understood, understand } from '../../server/plan/understand.ts';
import type { BriefTable } from '../../server/reports/brief-cells.ts';
import { briefHtml, briefPage } from '../../server/reports/brief-html.ts';
import { Ink } from '../../server/reports/brief-ink.ts';
import { SCREEN_LETTERS } from '../../server/reports/brief-letters.ts';
import { type BriefSheet, briefSheets } from '../../server/reports/brief-model.ts';
import { briefPdf } from '../../server/reports/brief-pdf.ts';
import { FontLetters } from '../../server/reports/brief-pdf-ink.ts';
import { fitted, PAPERS, SHEETS } from '../../server/reports/brief-set.ts';
import type { BriefSides } from '../../server/reports/brief-sides.ts';
import { budgetJson } from '../../server/reports/budget-json.ts';
import { diagnosticsOf } from '../../server/reports/diagnostic.ts';
import { check } from '../../server/rules/run.ts';
import {
  bare,
  elements,
  FONTS,
  pagesOf,
  type ReadTable,
  STAMP,
  sheetsOf,
  tablesOf,
  textOf,
  treeOf,
} from './brief-helper.ts';
import { sampleWorkspace } from './samples.ts';

// Exact by definition: the international foot, the nautical mile.
const SI: Readonly<Record<string, number>> = {
  ft: 0.3048,
  m: 1,
  NM: 1852,
  km: 1000,
  kt: 1852 / 3600,
  'km/h': 1 / 3.6,
  'm/s': 1,
};
const DASH = '–';

interface JsonLeg {
  readonly number: number;
  readonly to: string;
  readonly distanceM: number | null;
  readonly courseDeg: number | null;
  readonly variationDeg: number | null;
  readonly speed: { readonly indicatedMps: number } | null;
  readonly departAltitudeM: number | null;
  readonly arriveAltitudeM: number | null;
  readonly arriveHeightM: number | null;
  readonly askedAltitudeM: number | null;
  readonly marginM: number | null;
  readonly requiredDepartAltitudeM: number | null;
  readonly timeS: number | null;
  readonly elapsedS: number | null;
  readonly meanGroundSpeedMps: number | null;
  readonly meanHeadwindMps: number | null;
  readonly glideRatioOverGround: number | null;
  readonly climbs: readonly { readonly afterM: number; readonly toAltitudeM: number }[];
  readonly budgetM: { readonly reserve: number; readonly altimeter: number } | null;
  readonly fastestIndicatedMps: number | null;
  readonly bestGlideIndicatedMps: number | null;
  readonly notComputed: string | null;
}

interface JsonTask {
  readonly name: string;
  readonly massKg: number | null;
  readonly legs: readonly JsonLeg[];
  readonly day: { readonly takeoffUtcS: number } | null;
  readonly landing: { readonly runway: string; readonly headwindMps: number; readonly crosswindMps: number } | null;
}

interface Sample {
  readonly name: string;
  readonly understood: Understood;
  readonly sheets: readonly BriefSheet[];
  readonly paper: (typeof PAPERS)[number];
  readonly html: string;
  readonly json: readonly JsonTask[];
}

const workspace = sampleWorkspace();
const samples = [...workspace.files.values()].flatMap((file): Sample[] => {
  const understood = understand(workspace, file);
  if (understood.tasks.length === 0) return [];
  const findings = check(workspace, understood);
  const sheets = briefSheets(workspace, understood, findings, STAMP);
  const name = file.uri.split('/').at(-1) as string;
  const json = JSON.parse(
    budgetJson(
      understood.tasks,
      name,
      diagnosticsOf(workspace, findings, () => name),
    ),
  );
  return PAPERS.map((paper) => {
    const html = briefHtml(workspace, understood, findings, STAMP, { paper });
    expect(html).toBe(briefPage(sheets, paper));
    return { name, understood, sheets, paper, html, json: json.tasks };
  });
});

/** A number as it is printed: thousands apart, a real minus. */
function read(text: string): number {
  const found = /^[+−]?[\d,]+(\.\d+)?/.exec(text);
  if (!found) throw new Error(`${text} begins with no number`);
  return Number(found[0].replaceAll(',', '').replace('−', '-'));
}

const ALMOST = 1e-6;
const up = (si: number, unit: number) => Math.ceil(si / unit - ALMOST);
const down = (si: number, unit: number) => Math.floor(si / unit + ALMOST);

/** Seconds of a duration as it is printed, and how far it may be off. */
function seconds(text: string): { s: number; off: number } {
  const [, h, min, s] = /^(?:(\d+) h )?(?:(\d+) min)?(?: ?(\d+) s)?$/.exec(text) ?? [];
  return { s: Number(h ?? 0) * 3600 + Number(min ?? 0) * 60 + Number(s ?? 0), off: s === undefined ? 30.01 : 0.51 };
}

function unitIn(table: ReadTable, column: number): number {
  const unit = /(\S+?)(?: MSL| IAS)?$/.exec(table.heads[column] ?? '')?.[1] ?? '';
  const factor = SI[unit];
  if (factor === undefined) throw new Error(`${table.heads[column]} has no unit that is known`);
  return factor;
}

/** Tables of one sheet by the first word of their title. */
function sheetTables(html: string): Map<string, ReadTable>[] {
  return elements(treeOf(html), 'article').map(
    (article) => new Map(tablesOf(article).map((table) => [table.title.split(' ')[0] as string, table])),
  );
}

/** The speeds of each leg by its name, as cells, from their table or from the words below the legs. */
function speedsIn(tables: Map<string, ReadTable> | undefined): Map<string, string[]> {
  const table = tables?.get('Speeds');
  if (table) return new Map(table.rows.map(([name, ...cells]) => [name?.[0] ?? '', cells.map(([main]) => main ?? '')]));
  const legs = tables?.get('Legs') as ReadTable;
  return new Map(
    legs.rows.flatMap(([name], i): [string, string[]][] => {
      const said =
        /best glide (\S+), fastest (\S+) (?:\S+ IAS), over ground (\S+), wind (–|(?:head|tail) \S+) \S+, glide (\S+?)(?:;|$)/.exec(
          legs.notes[i] ?? '',
        );
      return said ? [[name?.[0] ?? '', said.slice(1)]] : [];
    }),
  );
}

const FONT_LETTERS = new FontLetters(FONTS.regular, FONTS.bold);
const pdfSides = (sheet: BriefSheet, paper: (typeof PAPERS)[number]): BriefSides =>
  fitted(sheet, SHEETS[paper], new Ink(FONT_LETTERS));

/** Everything that a table says, by its rows: cells and what stands below them. */
const textsOf = (table: BriefTable | null): string[][] =>
  (table?.rows ?? []).map(({ cells, notes }) => [
    ...cells.flatMap(({ main, under }) => [main, ...under]).map(({ text }) => text),
    notes.map(({ text }) => text).join('; '),
  ]);

describe.each(samples)('$name on $paper', ({ understood, sheets, paper, html, json }) => {
  const tables = sheetTables(html);

  test('the legs', () => {
    expect(tables.length).toBe(json.length);
    for (const [i, task] of json.entries()) {
      const legs = tables[i]?.get('Legs') as ReadTable;
      const heights = unitIn(legs, 4);
      const distances = unitIn(legs, 2);
      const speeds = unitIn(legs, 3);
      expect([unitIn(legs, 5), unitIn(legs, 6)]).toEqual([heights, heights]);
      expect(legs.rows.length).toBe(task.legs.length);
      for (const [n, leg] of task.legs.entries()) {
        const [name, course, distance, fly, leave, arrive, margin, time] = legs.rows[n] as string[][];
        expect(name?.[0]).toBe(`${leg.number} ${leg.to || '?'}`);
        if (leg.distanceM === null || leg.courseDeg === null) {
          expect(leg.notComputed).not.toBeNull();
          for (const cell of [course, distance, fly, leave, arrive, margin, time]) expect(cell).toEqual([DASH]);
          continue;
        }
        const compass = (deg: number) => String(((Math.round(deg) + 359) % 360) + 1).padStart(3, '0');
        expect(course).toEqual([
          `${compass(leg.courseDeg)}° T`,
          ...(leg.variationDeg === null ? [] : [`${compass(leg.courseDeg - leg.variationDeg)}° M`]),
        ]);
        expect(Math.abs(read(distance?.[0] as string) - leg.distanceM / distances)).toBeLessThanOrEqual(0.05 + ALMOST);
        expect(Math.abs(read(fly?.[0] as string) - (leg.speed?.indicatedMps ?? 0) / speeds)).toBeLessThanOrEqual(
          0.5 + ALMOST,
        );
        if (leg.requiredDepartAltitudeM === null) expect(leave?.[0]).toBe('no height');
        else expect(read(leave?.[0] as string)).toBe(up(leg.requiredDepartAltitudeM, heights));
        const last = leg.climbs.at(-1);
        const planned = last?.toAltitudeM ?? leg.departAltitudeM ?? Number.NaN;
        expect(read((leave?.[1] ?? '').replace(/^(planned|assumed) /, ''))).toBe(down(planned, heights));
        if (leg.arriveAltitudeM === null || leg.arriveHeightM === null || leg.budgetM === null || leg.timeS === null) {
          expect([arrive, margin?.[0], time?.[0]]).toEqual([[DASH], DASH, DASH]);
          continue;
        }
        expect(read(arrive?.[0] as string)).toBe(down(leg.arriveAltitudeM, heights));
        expect(read(arrive?.[1] as string)).toBe(down(leg.arriveHeightM, heights));
        const asked = up(leg.budgetM.reserve + leg.budgetM.altimeter, heights);
        expect(read((margin?.[1] ?? '').replace('asked ', ''))).toBe(asked);
        // What stands beside each other adds up, and is no more than there is.
        const shown = read(margin?.[0] as string);
        expect(shown).toBe(read(arrive?.[1] as string) - asked);
        expect(shown).toBeLessThanOrEqual((leg.marginM as number) / heights + ALMOST);
        expect(shown).toBeGreaterThan((leg.marginM as number) / heights - 2);
        const takeoff = task.day?.takeoffUtcS;
        const timed = takeoff !== undefined && leg.elapsedS !== null;
        const { s, off } = seconds(time?.[timed ? 1 : 0] as string);
        expect(Math.abs(s - leg.timeS)).toBeLessThanOrEqual(off);
        if (timed) {
          const [, h, m, zone] = /^(\d\d):(\d\d)(Z|[+-]\d\d:\d\d)$/.exec(time?.[0] as string) ?? [];
          const ahead = zone === 'Z' ? 0 : Number(zone?.slice(0, 3)) * 3600;
          const utcS = Number(h) * 3600 + Number(m) * 60 - ahead;
          expect(Math.abs(utcS - takeoff - (leg.elapsedS as number))).toBeLessThanOrEqual(30.01);
        }
      }
    }
  });

  test('the speeds', () => {
    for (const [i, task] of json.entries()) {
      const speeds = speedsIn(tables[i]);
      const computed = task.legs.filter(({ distanceM }) => distanceM !== null);
      expect(speeds.size).toBe(computed.length);
      const unit = unitIn(tables[i]?.get('Legs') as ReadTable, 3);
      const near = (cell: string | undefined, si: number | null) => {
        if (si === null) expect(cell).toBe(DASH);
        else expect(Math.abs(read(cell as string) - si / unit)).toBeLessThanOrEqual(0.5 + ALMOST);
      };
      for (const leg of computed) {
        const [best, fastest, ground, wind, ratio] = speeds.get(`${leg.number} ${leg.to}`) as string[];
        near(best, leg.bestGlideIndicatedMps);
        near(ground, leg.meanGroundSpeedMps);
        if (leg.fastestIndicatedMps === null) expect(fastest).toBe('none');
        else expect(read(fastest as string)).toBe(down(leg.fastestIndicatedMps, unit));
        if (leg.meanHeadwindMps === null) expect(wind).toBe(DASH);
        else {
          expect(wind).toMatch(leg.meanHeadwindMps >= 0 ? /^head / : /^tail /);
          near((wind ?? '').slice(5), Math.abs(leg.meanHeadwindMps));
        }
        if (leg.glideRatioOverGround === null) expect(ratio).toBe(DASH);
        else expect(ratio).toBe(`${leg.glideRatioOverGround.toFixed(1)}:1`);
      }
    }
  });

  test('the last glide: at its ends as in the JSON, between them as a leg that begins there', () => {
    for (const [i, task] of json.entries()) {
      const glide = tables[i]?.get('Last');
      const leg = task.legs.at(-1);
      const evaluated = (understood.tasks[i] as TaskEvaluation).legs.at(-1);
      if (!glide) {
        expect(leg?.distanceM === null || evaluated?.kind !== 'finish').toBe(true);
        continue;
      }
      if (!leg || !evaluated?.input || !evaluated.to?.meaning.position) throw new Error('a glide of no leg');
      const [distances, heights] = [unitIn(glide, 0), unitIn(glide, 1)];
      const rows = glide.rows.map(([toGo, least]) => ({
        toGo: read(toGo?.[0] as string),
        over: toGo?.[1],
        least: read(least?.[0] as string),
      }));
      expect(rows.at(-1)).toEqual({ toGo: 0, over: leg.to, least: up(leg.askedAltitudeM as number, heights) });
      expect(rows.map(({ toGo }) => toGo)).toEqual(rows.map(({ toGo }) => toGo).toSorted((a, b) => b - a));
      const start = rows.find(({ over }) => over === evaluated.fromName || over === 'last climb');
      if (start && leg.requiredDepartAltitudeM !== null)
        expect(start.least).toBe(up(leg.requiredDepartAltitudeM, heights));
      const { setting, destination, limits } = evaluated.input;
      for (const { toGo, over, least } of rows.filter((row) => row.over === undefined)) {
        const toGoM = toGo * distances;
        if (toGoM >= setting.track.distanceM) continue;
        const from = setting.track.positionAt(setting.track.distanceM - toGoM);
        const shorter = evaluateLeg({
          setting: { ...setting, track: track(from, evaluated.to.meaning.position) },
          departAltitudeM: 3000,
          climbs: [],
          destination,
          speed: { kind: 'indicated', indicatedMps: leg.speed?.indicatedMps as number },
          limits,
        });
        // Another track, and steps of another length: a rounding apart at most.
        const required = shorter.requiredDepartAltitudeM as number;
        expect([over, least]).toEqual(
          [undefined, up(required, heights)].map((one) => (one === undefined ? one : expect.closeTo(one, -0.4))),
        );
        expect(least).toBeGreaterThanOrEqual(required / heights - 0.05);
      }
    }
  });

  test('the runway at the finish', () => {
    for (const [i, task] of json.entries()) {
      const row = tables[i]?.get('Fields')?.rows.find(([name]) => name?.[0] === task.legs.at(-1)?.to);
      if (!task.landing || !row || !task.legs.some(({ distanceM }) => distanceM !== null)) continue;
      const unit = unitIn(tables[i]?.get('Fields') as ReadTable, 5);
      const [, runway, along, head, cross] = /^(\S+): (head|tail) (\d+), cross (\d+)/.exec(row[5]?.[0] as string) ?? [];
      expect([runway, along]).toEqual([task.landing.runway, task.landing.headwindMps >= 0 ? 'head' : 'tail']);
      const { headwindMps, crosswindMps } = task.landing;
      expect(Number(head)).toBe(headwindMps >= 0 ? down(headwindMps, unit) : up(-headwindMps, unit));
      expect(Number(cross)).toBe(up(Math.abs(crosswindMps), unit));
    }
  });

  test('the PDF holds the same, nothing outside its pages, and its header on each', { timeout: 300_000 }, async () => {
    const pages = await pagesOf(await briefPdf(sheets, { paper, fonts: FONTS, madeMs: 0 }));
    const all = bare(textOf(pages));
    for (const sheet of sheets) {
      const { front, reverse } = pdfSides(sheet, paper);
      for (const side of [front, ...(reverse ? [reverse] : [])]) {
        // Across, what stands below a value comes behind both values.
        for (const table of [side.legs, side.glide, side.speeds, side.fields, side.wind])
          for (const row of textsOf(table).map((texts) => texts.filter((text) => text !== '')))
            expect([row.join(''), [row[0], row.at(-1), ...row.slice(1, -1)].join('')].map(bare)).toSatisfy(
              (either: string[]) => either.some((one) => all.includes(one)),
            );
        for (const { title, sentences } of side.words) {
          expect(all).toContain(bare(title));
          expect(all).toContain(bare(sentences.join(' ')));
        }
        expect(all).toContain(bare(side.more));
      }
      for (const { message } of sheet.findings) expect(all).toContain(bare(message));
      for (const text of [sheet.caution, sheet.stamp, sheet.title, ...sheet.summary]) expect(all).toContain(bare(text));
    }
    for (const { width, height, items } of pages) {
      for (const { text, x, y, width: wide } of items) {
        expect([text, x >= 16 && x + wide <= width - 16 && y >= 16 && y <= height - 12]).toEqual([text, true]);
      }
      const page = bare(items.map(({ text }) => text).join(''));
      expect(sheets.some(({ title, stamp }) => page.startsWith(bare(title)) && page.includes(bare(stamp)))).toBe(true);
    }
  });

  test('one page a task, whose letters can be read, and a reverse only where it says so', {
    timeout: 300_000,
  }, async () => {
    const pages = await pagesOf(await briefPdf(sheets, { paper, fonts: FONTS, madeMs: 0 }));
    const texts = pages.map(({ items }) => bare(items.map(({ text }) => text).join('')));
    let at = 0;
    for (const sheet of sheets) {
      const { front, reverse } = pdfSides(sheet, paper);
      expect(reverse === null).toBe(front.more === '');
      const sides = reverse ? 2 : 1;
      expect(texts[at]).toContain(`1/${sides}`);
      // What the flight needs stands on the front: each leg, the last glide, and the field to land on.
      const page = texts[at] as string;
      for (const table of [sheet.legs, sheet.glide])
        for (const { cells } of table?.rows ?? [])
          for (const { main } of cells) expect(page).toContain(bare(main.text));
      const home = sheet.task.legs.at(-1)?.to?.meaning;
      if (sheet.fields && home?.kind === 'field')
        expect(front.fields?.rows.map(({ cells }) => cells[0]?.main.text)).toContain(home.name);
      at += sides;
    }
    expect(pages.length).toBe(at);
    for (const { items } of pages)
      for (const { text, size } of items) expect([text, size >= 7.99]).toEqual([text, true]);
  });

  test('no number of the sheet is lost to either side, in both outputs', () => {
    const screen = new Ink(SCREEN_LETTERS);
    for (const [i, sheet] of sheets.entries()) {
      const article = elements(treeOf(html), 'article')[i] as Element;
      const text = bare(article.textContent ?? '');
      for (const { front, reverse } of [pdfSides(sheet, paper), fitted(sheet, SHEETS[paper], screen)]) {
        const said = JSON.stringify([front, reverse]);
        for (const table of [sheet.legs, sheet.glide, sheet.speeds, sheet.fields, sheet.wind])
          for (const row of textsOf(table))
            for (const cell of row)
              for (const piece of cell.split('; ')) {
                expect(said).toContain(JSON.stringify(piece).slice(1, -1));
                expect(text).toContain(bare(piece));
              }
      }
    }
  });

  test('the page has a heading, tables with scopes, and the findings on top', () => {
    const root = treeOf(html);
    expect(root.getAttribute('lang')).toBe('en');
    expect(html).not.toMatch(/<script|<link|<img|\bon\w+="|\bsrc=|url\((?!#)/);
    const articles = elements(root, 'article');
    for (const [i, sheet] of sheets.entries()) {
      const article = articles[i] as (typeof articles)[number];
      expect(elements(article, 'h1').map(({ textContent }) => textContent)).toEqual([sheet.title]);
      for (const cell of elements(article, 'th')) expect(['col', 'row']).toContain(cell.getAttribute('scope'));
      const text = article.textContent ?? '';
      const legs = text.indexOf('Legs');
      const reverse = text.indexOf('On the reverse:');
      for (const [n, { message }] of sheet.findings.entries()) {
        expect(text).toContain(message);
        if (n === 0 || reverse < 0) expect(text.indexOf(message)).toBeLessThan(legs);
      }
      for (const one of [sheet.caution, sheet.stamp]) expect(text).toContain(one);
      for (const { sentences } of sheet.words) expect(text).toContain(sentences.join(' '));
      expect(text.includes('On the reverse:')).toBe(
        elements(article, 'section').some((one) => one.getAttribute('class') === 'reverse'),
      );
    }
  });
});

const TASK = (name: string, ...lines: string[]) =>
  [`task "${name}"`, 'aircraft Finch with pilot 82 kg', 'weather Breezy', 'reserve Training', ...lines].join('\n  ');

describe('a last glide over a turn', () => {
  const { sheets } = sheetsOf(
    TASK(
      'Home',
      'start Larkfield at 9000 ft MSL',
      'turn Ashmoor at 60 kt',
      'turn "Corran Dam" at 55 kt',
      'finish Larkfield at 70 kt',
    ),
  );
  const glide = sheets[0]?.glide as BriefTable;

  test('begins where the last climb, or the start, is', () => {
    const points = glide.rows.flatMap(({ cells }) => cells[0]?.under.map(({ text }) => text) ?? []);
    expect(points).toEqual(['Larkfield', 'Ashmoor', 'Corran Dam', 'Larkfield']);
    expect(glide.title).toBe(
      'Last glide to Larkfield, at 60 kt from Larkfield, 55 kt from Ashmoor, 70 kt from Corran Dam',
    );
  });

  test('a plan that starts as high as it says arrives with what is asked, and a foot lower does not', () => {
    const least = read(glide.rows[0]?.cells[1]?.main.text as string);
    const margins = (feet: number) =>
      sheetsOf(
        TASK(
          'Home',
          `start Larkfield at ${feet} ft MSL`,
          'turn Ashmoor at 60 kt',
          'turn "Corran Dam" at 55 kt',
          'finish Larkfield at 70 kt',
        ),
      ).sheets[0]?.task.legs.map(({ result }) => (result?.problem === null ? result.marginM : Number.NaN)) as number[];
    expect(Math.min(...margins(least))).toBeGreaterThanOrEqual(0);
    expect(Math.min(...margins(least - 1))).toBeLessThan(0);
  });
});

test('where only some fields have room, those that the task names come first, then the best of each leg', () => {
  const field = (name: string, at: string, metres: number) =>
    `field ${name} at ${at}\n  elevation 150 m\n  runway 09/27 ${metres} m\n`;
  const { sheets } = sheetsOf(
    [
      'aircraft Kite',
      '  best glide 32:1 at 49 kt',
      '  minimum sink 1.3 kt at 41 kt',
      '  polar mass 300 kg',
      '  vs 35 kt',
      '  vne 119 kt',
      '  landing 400 m\n',
      // Beside the leg out, the shorter strip nearer; beside the leg back, one.
      field('Strip', '47.2700 N 19.4700 E', 250),
      field('Meadow', '47.2700 N 19.4400 E', 700),
      field('Far', '47.2700 N 19.4000 E', 700),
      'task Out',
      '  aircraft Kite',
      '  weather Breezy',
      '  start Larkfield at 9000 ft MSL',
      '  turn "Withy Bridge"',
      '  finish Larkfield',
    ].join('\n'),
  );
  const table = sheets[0]?.fields as BriefTable;
  const names = table.rows.map(({ cells }) => cells[0]?.main.text);
  const order = names.map((_, place) => names[table.ranks?.indexOf(place) as number]);
  expect(order[0]).toBe('Larkfield');
  expect([...order].sort()).toEqual([...names].sort());
  const place = (name: string) => order.indexOf(name);
  expect([place('Strip'), place('Meadow'), place('Far')].every((at) => at > 0)).toBe(true);
  expect(place('Meadow')).toBeLessThan(place('Far'));
  expect(place('Far')).toBeLessThan(place('Strip'));
});

const HOSTILE =
  `</h1><script>alert(1)</script> & 'x' "]]> %s \u0001\u001b[31m \u202e \ufffe 😀 日本 \ud800 <![CDATA[ ${'W'.repeat(300)}`.replaceAll(
    '"',
    '”',
  );

describe('hostile names', () => {
  const plan = `${TASK(HOSTILE, 'start Larkfield at 4000 ft MSL', `turn "${HOSTILE}"`, 'finish Larkfield at 95 kt', `note "${HOSTILE}"`)}

turnpoint "${HOSTILE}" at 47.3380 N 19.6240 E
  elevation 140 m
  note      "${HOSTILE}"

field "${HOSTILE} field" at 47.2380 N 19.5240 E
  elevation 140 m
  runway    18/36 900 m surface grass
  note      "${HOSTILE}"
`;

  test('come out as text in the HTML', () => {
    const { sheets } = sheetsOf(plan, { ...STAMP, file: HOSTILE });
    const html = briefPage(sheets);
    const root = treeOf(html);
    expect(elements(root, 'script')).toEqual([]);
    // biome-ignore lint/suspicious/noControlCharactersInRegex: these are looked for
    expect(html).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u202a-\u202e\ufffe\ud800-\udfff](?![\udc00-\udfff])/u);
    expect(elements(root, 'h1')[0]?.textContent).toContain(
      "</h1><script>alert(1)</script> & 'x' ”]]> %s ␁␛[31m <U+202E>",
    );
  });

  test.each(['a4', 'a5'] as const)(
    'come out whole in the PDF on %s, what no font prints by its number',
    async (paper) => {
      const { sheets } = sheetsOf(plan, { ...STAMP, file: HOSTILE });
      const pages = await pagesOf(await briefPdf(sheets, { paper, fonts: FONTS, madeMs: 0 }));
      const text = bare(textOf(pages));
      const whole = `</h1><script>alert(1)</script>&'x'”]]>%s<U+0001><U+001B>[31m<U+202E><U+FFFE><U+1F600><U+65E5><U+672C>\ufffd<![CDATA[${'W'.repeat(300)}`;
      expect(text.split(whole).length).toBeGreaterThan(5);
      expect(pages.length).toBeLessThan(12);
      for (const { width, height, items } of pages)
        for (const { text: piece, x, y, width: wide } of items)
          expect([piece, x, y, x >= 15 && x + wide <= width - 15 && y >= 15 && y <= height - 12]).toEqual([
            piece,
            x,
            y,
            true,
          ]);
    },
  );
});

test('Latin, Greek and Cyrillic names are printed as they are', async () => {
  const name = 'Żółta Łąka, Őrség, Çeşme, Þingvellir, Αθήνα, Київ, Đặng';
  const { sheets } = sheetsOf(TASK(name, 'start Larkfield at 4000 ft MSL', 'finish Larkfield'));
  const bytes = await briefPdf(sheets, { paper: 'a4', fonts: FONTS, madeMs: 0 });
  expect(bare(textOf(await pagesOf(bytes)))).toContain(bare(name));
});

test('a long task flows on, and nothing is lost', { timeout: 300_000 }, async () => {
  const turns = Array.from({ length: 70 }, (_, i) => `turn ${i % 2 === 0 ? 'Ashmoor' : '"Withy Bridge"'}`).flatMap(
    (turn) => ['climb to 5600 ft MSL', turn],
  );
  const plan = TASK('Long', 'start Larkfield at 5000 ft MSL', ...turns, 'climb to 5600 ft MSL', 'finish Larkfield');
  const { sheets } = sheetsOf(plan);
  for (const paper of ['a4', 'a5'] as const) {
    const pages = await pagesOf(await briefPdf(sheets, { paper, fonts: FONTS, madeMs: 0 }));
    expect(pages.length).toBeGreaterThan(3);
    const all = bare(textOf(pages));
    for (const { cells } of sheets[0]?.legs.rows ?? [])
      expect(all).toContain(
        bare(
          cells
            .flatMap(({ main, under }) => [main, ...under])
            .map(({ text }) => text)
            .join(''),
        ),
      );
    for (const [i, { items }] of pages.entries()) {
      const page = items.map(({ text }) => text).join('');
      expect(page).toMatch(/^Long/);
      expect(page).toContain(`${i + 1} / ${pages.length}`);
      expect(bare(page)).toContain(bare(sheets[0]?.caution as string));
    }
  }
});

test('a revision, its uncommitted changes, and none', () => {
  const stampOf = (revision: typeof STAMP.revision) =>
    sheetsOf(TASK('A', 'start Larkfield at 4000 ft MSL', 'finish Larkfield'), { ...STAMP, revision }).sheets[0]?.stamp;
  expect(stampOf({ id: 'abc', uncommitted: false })).toBe('a.taskplan, revision abc, made 2026-06-12 19:30Z');
  expect(stampOf({ id: 'abc', uncommitted: true })).toBe(
    'a.taskplan, revision abc with uncommitted changes, made 2026-06-12 19:30Z',
  );
  expect(stampOf(null)).toBe('a.taskplan, of no revision, made 2026-06-12 19:30Z');
});

test('the same sheet twice is the same file', async () => {
  const { sheets } = sheetsOf(TASK('A', 'start Larkfield at 4000 ft MSL', 'finish Larkfield'));
  const once = await briefPdf(sheets, { paper: 'a4', fonts: FONTS, madeMs: 1 });
  expect(Buffer.from(await briefPdf(sheets, { paper: 'a4', fonts: FONTS, madeMs: 1 })).equals(once)).toBe(true);
});
