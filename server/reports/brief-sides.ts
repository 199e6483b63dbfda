/**
 * Which part of a sheet stands on which side of its paper. The front is whole by itself: it has all that the flight
 * needs, and says in words what the reverse has more of. How much it takes is tried, the most first.
 */
import type { BriefRow, BriefTable } from './brief-cells.ts';
import { drawingWords } from './brief-draw.ts';
import { type BriefFinding, type BriefSheet, findingsTitle } from './brief-model.ts';
import { count } from './plain.ts';

export interface BriefWords {
  readonly title: string;
  readonly sentences: readonly string[];
}

/** What stands on one side, in this order. */
export interface BriefSide {
  /** Over the findings; null where there is nothing to say. */
  readonly findingsTitle: string | null;
  readonly findings: readonly BriefFinding[];
  readonly legs: BriefTable | null;
  readonly glide: BriefTable | null;
  /** Whether the side view is drawn. */
  readonly side: boolean;
  readonly speeds: BriefTable | null;
  readonly wind: BriefTable | null;
  readonly fields: BriefTable | null;
  readonly plan: boolean;
  readonly words: readonly BriefWords[];
  /** What the other side has, as a sentence; empty where there is none. */
  readonly more: string;
}

/** How a sheet is set. */
export interface BriefSetting {
  /** Of plain text, pt. */
  readonly em: number;
  /** Smaller tables, the last glide across, speeds and wind as words, both drawings beside each other. */
  readonly tight: boolean;
  /** Lower drawings. */
  readonly low: boolean;
}

export interface BriefSides extends BriefSetting {
  readonly front: BriefSide;
  readonly reverse: BriefSide | null;
}

/** What of the drawings there is. */
interface Drawn {
  readonly side: boolean;
  readonly plan: boolean;
}

/** What the front has. */
interface Kept {
  readonly fields: number;
  readonly fieldNotes: boolean;
  readonly legNotes: boolean;
  readonly findings: number;
  readonly speeds: boolean;
  readonly side: boolean;
  readonly plan: boolean;
  /** Titles of the words that stand on the reverse. */
  readonly without: readonly string[];
}

const SIZES = [9, 8.7, 8.4, 8.1];
const TIGHT_SIZES = [10.5, 10, 9.5, ...SIZES];
const SMALLEST = 8;
/** The fewest fields that are left on a front before anything that matters more goes. */
const FEWEST_FIELDS = 4;
/** And after that. */
const FEWEST_AT_ALL = 2;

const EMPTY: BriefSide = {
  findingsTitle: null,
  findings: [],
  legs: null,
  glide: null,
  side: false,
  speeds: null,
  wind: null,
  fields: null,
  plan: false,
  words: [],
  more: '',
};

const bareRow = (row: BriefRow): BriefRow => ({ ...row, notes: [] });

/** `best glide 48, fastest 67 kt IAS; over ground 58, wind tail 8 kt; glide 25.4:1`: the speeds of a leg, behind its name. */
function speedWords({ heads }: BriefTable, { cells }: BriefRow): string {
  const parts: string[] = [];
  for (const [i, { text, unit }] of heads.entries()) {
    if (i === 0) continue;
    // A unit that the next column has as well is said once.
    const said = unit === '' || heads[i + 1]?.unit === unit ? '' : ` ${unit}`;
    parts.push(`${text} ${cells[i]?.main.text ?? ''}${said}`);
  }
  return parts.join(', ');
}

/** The legs with their speeds below each. Both tables have the computed legs in the same order. */
function legsWithSpeeds(legs: BriefTable, speeds: BriefTable | null): BriefTable {
  const bySame = new Map(speeds?.rows.map((row) => [row.cells[0]?.main.text, row]));
  return {
    ...legs,
    rows: legs.rows.map(({ cells, notes }): BriefRow => {
      const [name, ...others] = cells;
      // Below the name only where the row is as high anyhow.
      const high = others.some(({ under }) => under.length > 1);
      const speed = name && bySame.get(name.main.text);
      const words = speeds && speed ? [{ text: speedWords(speeds, speed), si: null }] : [];
      return {
        cells: name && !high ? [{ ...name, under: [] }, ...others] : cells,
        notes: [...((!high && name?.under) || []), ...words, ...notes],
      };
    }),
  };
}

/** Words more, behind those of a group; a group of its own where there is none of that title. */
function withMore(words: readonly BriefWords[], title: string, more: readonly string[]): BriefWords[] {
  if (more.length === 0) return [...words];
  if (!words.some((one) => one.title === title)) return [...words, { title, sentences: more }];
  return words.map((one) => (one.title === title ? { ...one, sentences: [...one.sentences, ...more] } : one));
}

function windWords(wind: BriefTable | null): BriefWords[] {
  if (!wind) return [];
  const [height, , speed] = wind.heads;
  const layers = wind.rows.map(
    ({ cells: [at, from, kt] }) =>
      `${at?.main.text} ${height?.unit} from ${from?.main.text} at ${kt?.main.text} ${speed?.unit}`,
  );
  return [{ title: wind.title, sentences: [`${layers.join('; ')}.`] }];
}

/** Notes of the rows of a table as words, behind the names of the rows. */
function notesAsWords(title: string, rows: readonly BriefRow[]): BriefWords[] {
  const sentences = rows
    .filter(({ notes }) => notes.length > 0)
    .map(({ cells, notes }) => {
      const text = notes.map((note) => note.text).join('; ');
      return `${cells[0]?.main.text}: ${text}${/[.!?]$/.test(text) ? '' : '.'}`;
    });
  return sentences.length === 0 ? [] : [{ title, sentences }];
}

/** What the sheet says in words, what its drawings mean last. */
function wordsOf({ words, picture }: BriefSheet): BriefWords[] {
  const drawings = drawingWords(picture);
  return drawings.length === 0 ? [...words] : [...words, { title: 'Drawings', sentences: drawings }];
}

const list = (parts: readonly string[]): string =>
  parts.length < 2 ? (parts[0] ?? '') : `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}`;

const sideOf = (sheet: BriefSheet, side: boolean, plan: boolean): BriefSide => ({
  findingsTitle: findingsTitle(sheet.findings),
  findings: sheet.findings,
  legs: sheet.legs,
  glide: sheet.glide,
  side,
  speeds: sheet.speeds,
  wind: sheet.wind,
  fields: sheet.fields,
  plan,
  words: wordsOf(sheet),
  more: '',
});

/** A sheet split as asked, in the tight setting. */
function split(sheet: BriefSheet, drawn: Drawn, kept: Kept, low: boolean): BriefSides {
  const { fields, legs, speeds, findings } = sheet;
  const words = [...windWords(sheet.wind), ...withMore(wordsOf(sheet), 'Made with', speeds?.notes ?? [])];
  const [best, others] = [fields?.rows.slice(0, 0) ?? [], fields?.rows.slice(0, 0) ?? []];
  const ranked = fields?.ranks ?? [];
  for (const [i, row] of (fields?.rows ?? []).entries()) ((ranked[i] ?? i) < kept.fields ? best : others).push(row);
  const side = drawn.side && kept.side;
  const plan = drawn.plan && kept.plan;
  const moved = [
    ...(kept.legNotes ? [] : notesAsWords('Notes of points', legs.rows)),
    ...(kept.fieldNotes ? [] : notesAsWords('Notes of fields', best)),
  ];
  const left = findings.slice(kept.findings);
  const there = words.filter(({ title }) => kept.without.includes(title));
  const more = [
    left.length === 0 ? '' : count(left.length, 'more finding'),
    others.length === 0 ? '' : count(others.length, 'more field'),
    kept.speeds || !speeds ? '' : 'the other speeds',
    ...moved.map(({ title }) => `the ${title.charAt(0).toLowerCase()}${title.slice(1)}`),
    side === drawn.side ? '' : 'the side view',
    plan === drawn.plan ? '' : 'the plan view',
    ...there.map(({ title }) => `“${title}”`),
  ].filter((part) => part !== '');
  const notedLegs = kept.legNotes ? legs : { ...legs, rows: legs.rows.map(bareRow) };
  const tightLegs = legsWithSpeeds(notedLegs, kept.speeds ? speeds : null);
  const sound = findings.length === 0 && legs.notes.length > 0;
  const front: BriefSide = {
    ...sideOf(sheet, side, plan),
    // One line where there is nothing to find.
    ...(sound ? { findingsTitle: [findingsTitle(findings), ...legs.notes].join(' ') } : {}),
    findings: findings.slice(0, kept.findings),
    legs: sound ? { ...tightLegs, notes: [] } : tightLegs,
    speeds: null,
    wind: null,
    fields: fields && { ...fields, rows: kept.fieldNotes ? best : best.map(bareRow) },
    words: words.filter((one) => !there.includes(one)),
    more: more.length === 0 ? '' : `On the reverse: ${list(more)}.`,
  };
  const reverse: BriefSide | null =
    more.length === 0
      ? null
      : {
          ...EMPTY,
          findingsTitle: left.length === 0 ? null : `${count(left.length, 'more finding')} in this plan`,
          findings: left,
          speeds: kept.speeds ? null : speeds,
          fields:
            fields && others.length > 0
              ? { ...fields, title: 'More fields on the way', rows: others, notes: [] }
              : null,
          side: side !== drawn.side,
          plan: plan !== drawn.plan,
          words: [...moved, ...there],
        };
  return { em: SMALLEST, tight: true, low, front, reverse };
}

/** All of a sheet, at a size. */
function allOf(sheet: BriefSheet, drawn: Drawn, em: number): BriefSides {
  return { em, tight: false, low: false, front: sideOf(sheet, drawn.side, drawn.plan), reverse: null };
}

/** What goes to the reverse, what matters least first. */
function* cuts(fields: number, findings: number): Generator<Partial<Kept>> {
  yield { without: ['Drawings'] };
  yield { fieldNotes: false };
  let left = fields;
  while (left > FEWEST_FIELDS) yield { fields: --left };
  yield { legNotes: false };
  yield { without: ['Drawings', 'What is checked'] };
  yield { speeds: false };
  yield { plan: false };
  for (let n = findings - 1; n > 0; n--) yield { findings: n };
  while (left > FEWEST_AT_ALL) yield { fields: --left };
  yield { side: false };
  yield { without: ['Drawings', 'What is checked', 'Made with'] };
}

/**
 * The way to set a sheet that shows the most on its front at the best size, of those that `fits` takes; undefined where
 * it takes none.
 */
export function fittingOf(sheet: BriefSheet, drawn: Drawn, fits: (way: BriefSides) => boolean): BriefSides | undefined {
  for (const em of SIZES) {
    const way = allOf(sheet, drawn, em);
    if (fits(way)) return way;
  }
  const fields = sheet.fields?.rows.length ?? 0;
  const findings = sheet.findings.length;
  const all: Kept = {
    fields,
    fieldNotes: true,
    legNotes: true,
    findings,
    speeds: true,
    side: true,
    plan: true,
    without: [],
  };
  const whole = split(sheet, drawn, all, false);
  for (const em of [...TIGHT_SIZES, SMALLEST]) if (fits({ ...whole, em })) return { ...whole, em };
  const shorter = split(sheet, drawn, all, true);
  if (fits(shorter)) return shorter;
  const made: Kept[] = [];
  let kept = all;
  for (const cut of cuts(fields, findings)) {
    made.push(kept);
    kept = { ...kept, ...cut };
    const way = split(sheet, drawn, kept, true);
    if (fits(way)) return restored(sheet, drawn, kept, made, way, fits);
  }
  return undefined;
}

/** What matters most first. */
const BY_WEIGHT: readonly (keyof Kept)[] = [
  'findings',
  'side',
  'plan',
  'speeds',
  'fields',
  'without',
  'legNotes',
  'fieldNotes',
];

/** What was cut before the last cut made room for it is put back, what matters most first. */
function restored(
  sheet: BriefSheet,
  drawn: Drawn,
  cut: Kept,
  before: readonly Kept[],
  found: BriefSides,
  fits: (way: BriefSides) => boolean,
): BriefSides {
  let kept = cut;
  let best = found;
  const attempt = (more: Kept, low: boolean): boolean => {
    const way = split(sheet, drawn, more, low);
    if (!fits(way)) return false;
    kept = more;
    best = way;
    return true;
  };
  for (const part of BY_WEIGHT)
    for (const earlier of before) {
      if (earlier[part] === kept[part]) continue;
      if (attempt({ ...kept, [part]: earlier[part] }, true)) break;
    }
  attempt(kept, false);
  return best;
}

/** A sheet that no side is large enough for: it flows on, at its full size, and nothing is left out. */
export const flowing = (sheet: BriefSheet, drawn: Drawn): BriefSides => allOf(sheet, drawn, SIZES[0] as number);
