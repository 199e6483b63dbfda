/** The outline of a file: its entries with what matters most of each, and the legs under a task. */
import { type DocumentSymbol, SymbolKind } from 'vscode-languageserver-types';
import { rangeAt } from '../../grammar/file.ts';
import type { EntryKeyword } from '../../grammar/vocabulary.ts';
import { bestGlideRatio, bestGlideSpeed } from '../flight/index.ts';
import { marginText, totalsText } from '../plan/budget-rows.ts';
import type { Aircraft, Limits, Meaning, Reserve, Weather } from '../plan/meaning.ts';
import { altitudeText, type Show, show } from '../plan/show.ts';
import type { LegEvaluation, TaskEvaluation } from '../plan/task.ts';
import { harmless } from '../plan/text.ts';
import type { Understood } from '../plan/understand.ts';
import type { Defined } from '../plan/workspace.ts';
import { entryRange, nameRange } from './defined-ranges.ts';

/** The sign that an editor shows before each kind of entry. */
export const SYMBOL_KINDS: Readonly<Record<EntryKeyword, SymbolKind>> = {
  use: SymbolKind.Module,
  terrain: SymbolKind.Package,
  units: SymbolKind.Property,
  field: SymbolKind.Constant,
  turnpoint: SymbolKind.Variable,
  obstacle: SymbolKind.Key,
  airspace: SymbolKind.Namespace,
  aircraft: SymbolKind.Class,
  weather: SymbolKind.Object,
  reserve: SymbolKind.Struct,
  limits: SymbolKind.Struct,
  task: SymbolKind.Function,
};

function aircraftDetail({ polar }: Aircraft, with_: Show): string {
  if (polar.kind !== 'polar') return polar.kind === 'refused' ? 'its polar is refused' : 'no polar';
  return `best glide ${with_.ratio(bestGlideRatio(polar.polar))} at ${with_.speed(bestGlideSpeed(polar.polar))}`;
}

function weatherDetail({ date, winds }: Weather, with_: Show): string {
  const day = date && [date.year, date.month, date.day].map((part) => String(part).padStart(2, '0')).join('-');
  const strongest = Math.max(0, ...winds.map(({ speedMps }) => speedMps));
  return [day, winds.length > 0 && `wind up to ${with_.speed(strongest)}`].filter(Boolean).join(', ');
}

function reserveDetail({ arriveM, turnM }: Reserve, with_: Show): string {
  const parts = [
    arriveM && `${with_.height(arriveM.value, 'up')} over a field`,
    turnM && `${with_.height(turnM.value, 'up')} over a turnpoint`,
  ];
  return parts.filter(Boolean).join(', ');
}

function limitsDetail(limits: Limits, with_: Show): string {
  const within = limits.within.map(({ distanceM, point }) => `within ${with_.distance(distanceM)} of ${point.text}`);
  return [...(limits.forAllTasks ? ['for all tasks'] : []), ...within].join(', ');
}

function detailOf(meaning: Meaning, task: TaskEvaluation | undefined, with_: Show): string {
  switch (meaning.kind) {
    case 'field':
    case 'turnpoint':
      return meaning.elevationM === undefined ? 'elevation not known' : with_.altitude(meaning.elevationM);
    case 'obstacle':
      return meaning.top ? `top ${altitudeText(meaning.top, with_)}` : 'top not known';
    case 'airspace': {
      const [floor, ceiling] = [meaning.floor, meaning.ceiling].map((one) =>
        one ? altitudeText(one.value, with_) : 'not known',
      );
      return `${floor} to ${ceiling}`;
    }
    case 'aircraft':
      return aircraftDetail(meaning, with_);
    case 'weather':
      return weatherDetail(meaning, with_);
    case 'reserve':
      return reserveDetail(meaning, with_);
    case 'limits':
      return limitsDetail(meaning, with_);
    case 'task':
      return task && task.legs.length > 0 ? totalsText(task, with_) : 'no legs';
    default:
      return '';
  }
}

/** What an entry is called in a list: an editor refuses an empty name. */
function titleOf({ meaning }: Defined, keyword: EntryKeyword): string {
  const isPath = meaning.kind === 'use' || meaning.kind === 'terrain';
  const title = harmless((isPath ? meaning.path?.value : meaning.name) ?? '').trim();
  if (title !== '') return title;
  return keyword === 'units' ? keyword : `${keyword} without a ${isPath ? 'path' : 'name'}`;
}

function legDetail(leg: LegEvaluation, with_: Show): string {
  const { result } = leg;
  if (!result) return 'not computed';
  const distance = with_.distance(result.distanceM);
  return result.problem ? `${distance}, makes no headway` : `${distance}, margin ${marginText(leg, with_)}`;
}

/** The legs of a task; a leg takes in the climbs and the start that stand between the leg before and its own line. */
function legSymbols({ placed }: Defined, task: TaskEvaluation, with_: Show): DocumentSymbol[] {
  const symbols: DocumentSymbol[] = [];
  let before: number | undefined;
  for (const { line } of task.task.itinerary) {
    before ??= line.span.start;
    const leg = task.legs.find((one) => one.line === line);
    if (!leg) continue;
    symbols.push({
      name: harmless(`${leg.number} ${leg.fromName || '?'} → ${leg.toName || '?'}`),
      detail: legDetail(leg, with_),
      kind: SymbolKind.Method,
      range: rangeAt(placed, { start: before, end: line.span.end }),
      selectionRange: rangeAt(placed, leg.line.span),
    });
    before = undefined;
  }
  return symbols;
}

/** The outline: every entry of a known kind, with the legs of tasks below them. */
export function documentSymbols(understood: Understood): DocumentSymbol[] {
  const with_ = show(understood.units);
  const tasks = new Map(understood.tasks.map((task) => [task.entry, task]));
  return understood.entries.flatMap((defined): DocumentSymbol[] => {
    const { meaning, placed } = defined;
    const keyword = placed.syntax.form?.keyword;
    if (!keyword) return [];
    const task = tasks.get(meaning.entry);
    const detail = harmless(detailOf(meaning, task, with_));
    const symbol: DocumentSymbol = {
      name: titleOf(defined, keyword),
      ...(detail === '' ? {} : { detail }),
      kind: SYMBOL_KINDS[keyword],
      range: entryRange(defined),
      selectionRange: nameRange(defined),
    };
    const children = task ? legSymbols(defined, task, with_) : [];
    return [children.length > 0 ? { ...symbol, children } : symbol];
  });
}
