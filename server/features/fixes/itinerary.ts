/** Fixes for the order of an itinerary, and for a finish where one may not land. */
import type { LineSyntax } from '../../../grammar/syntax.ts';
import { unit } from '../../../grammar/units.ts';
import { track } from '../../flight/index.ts';
import { meaningOf } from '../../plan/meaning.ts';
import { show } from '../../plan/show.ts';
import { insertAbove, insertBelow, removeLine, replaceIn, rowAt, type Spot, spotOf } from './edit.ts';
import { type Fix, type FixContext, type Fixer, meaningAt } from './fix.ts';
import { legOf } from './legs.ts';
import { nameText, shownName } from './writing.ts';

/** Moves the row of a line below or above that of another. */
function moved(spot: Spot, line: LineSyntax, to: LineSyntax, below: boolean): Fix['edits'] {
  const { text } = spot.file.syntax;
  const { start, end } = rowAt(text, spot.placed.offset + line.span.start);
  const row = text.slice(start, end);
  return [removeLine(spot, line), below ? insertBelow(spot, to, [row]) : insertAbove(spot, to, [row])];
}

export const inOrder: Fixer = (finding, context) => {
  const { at } = finding;
  const spot = spotOf(context.workspace, at.uri, at.entry);
  const meaning = meaningAt(finding, context);
  if (!spot || meaning?.kind !== 'task') return [];
  const { itinerary } = meaning;
  const index = itinerary.findIndex(({ line }) => line.keyword.start === at.span.start);
  const start = itinerary.findIndex(({ kind }) => kind === 'start');
  const finish = itinerary.findLastIndex(({ kind }) => kind === 'finish');
  const item = itinerary[index];
  const last = itinerary.at(-1);
  if (!item || !last) return [];
  if (index < start) {
    if (item.kind === 'finish')
      return [{ title: 'Move the finish to the end', edits: moved(spot, item.line, last.line, true), preferred: true }];
    const to = itinerary[start];
    const edits = to ? moved(spot, item.line, to.line, true) : [];
    return [{ title: 'Move the line behind the start', edits, preferred: true }];
  }
  const to = itinerary[finish];
  if (!to || index <= finish) return [];
  return [
    { title: 'Move the line before the finish', edits: moved(spot, item.line, to.line, false), preferred: true },
    { title: 'Take the line out', edits: [removeLine(spot, item.line)] },
  ];
};

const NEAR_M = 10 * unit('NM').factor;

/** Finishes at the nearest field, where one lies within 10 NM. */
export const finishAtField: Fixer = (finding, context: FixContext) => {
  const at = legOf(finding, context);
  const from = at?.leg.to?.meaning.position;
  const node = at?.leg.line.slots['point'];
  if (!at || !from || !node) return [];
  const fields = context.understood.scope.files
    .flatMap((file) => file.syntax.trees)
    .flatMap((syntax) => {
      const meaning = meaningOf(syntax);
      if (meaning.kind !== 'field' || !meaning.position || meaning.name === '') return [];
      return [{ name: meaning.name, distanceM: track(from, meaning.position).distanceM }];
    })
    .filter(({ distanceM }) => distanceM <= NEAR_M)
    .sort((a, b) => a.distanceM - b.distanceM);
  const [field] = fields;
  const name = field && nameText(field.name);
  if (!field || name === undefined) return [];
  const far = show(context.understood.units).distance(field.distanceM);
  return [
    {
      title: `Finish at ${shownName(field.name)}, the nearest field, ${far} away`,
      edits: [replaceIn(at.spot, node.span, name)],
    },
  ];
};
