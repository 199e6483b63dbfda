/** The polar of an aircraft by points or by handbook figures: the same curve, as far as three decimals of a knot tell. */
import { CodeActionKind } from 'vscode-languageserver-types';
import { detailsOf, type EntrySyntax, type LineSyntax, type QuantityNode } from '../../../grammar/syntax.ts';
import { fromSi, toSi, type Unit } from '../../../grammar/units.ts';
import { bestGlideRatio, bestGlideSpeed, minimumSink, minimumSinkSpeed, sinkAt } from '../../flight/index.ts';
import type { Aircraft } from '../../plan/meaning.ts';
import { detailLine, insertAbove, removeLine, type Spot, spotOf } from '../fixes/edit.ts';
import { checkedAfter, type FixContext } from '../fixes/fix.ts';
import { plain } from '../fixes/writing.ts';
import { locate, touches } from '../locate.ts';
import type { Refactorer, Refactoring } from './refactoring.ts';

/** As near as points lie to their curve when the curve says the same as they do. */
const EXACT_MPS = 0.001;
const SPEED_DECIMALS = 3;
const SINK_DECIMALS = 4;

const unitOf = (line: LineSyntax | undefined, slot: string): Unit | undefined =>
  (line?.slots[slot] as QuantityNode | undefined)?.unit?.unit;

/** Lines that come in the place of others: above the first of them. */
function instead(spot: Spot, lines: readonly LineSyntax[], rows: readonly string[]): Refactoring['edits'] {
  const [first] = lines;
  return first ? [insertAbove(spot, first, rows), ...lines.map((line) => removeLine(spot, line))] : [];
}

function figures(aircraft: Aircraft, spot: Spot, entry: EntrySyntax): Refactoring['edits'] {
  const { polar } = aircraft;
  if (polar.kind !== 'polar' || polar.source !== 'points' || (polar.residuals?.maxMps ?? 1) > EXACT_MPS) return [];
  const lines = detailsOf(entry, 'polar');
  const speed = unitOf(lines[0], 'speed');
  const sink = unitOf(lines[0], 'sink');
  const curve = polar.polar;
  if (!speed || !sink || minimumSinkSpeed(curve) <= 0 || bestGlideSpeed(curve) <= 0) return [];
  const at = (mps: number) => `${plain(fromSi(mps, speed), SPEED_DECIMALS)} ${speed.text}`;
  const ratio = plain(bestGlideRatio(curve), SPEED_DECIMALS);
  const least = plain(fromSi(minimumSink(curve), sink), SINK_DECIMALS);
  return instead(
    spot,
    [...lines, ...figureLines(entry)],
    [
      detailLine(entry, 'best glide', `${ratio}:1 at ${at(bestGlideSpeed(curve))}`),
      detailLine(entry, 'minimum sink', `${least} ${sink.text} at ${at(minimumSinkSpeed(curve))}`),
    ],
  );
}

const figureLines = (entry: EntrySyntax) => [...detailsOf(entry, 'best glide'), ...detailsOf(entry, 'minimum sink')];

function points(aircraft: Aircraft, spot: Spot, entry: EntrySyntax): Refactoring['edits'] {
  const { polar, vneMps } = aircraft;
  if (polar.kind !== 'polar' || polar.source !== 'figures') return [];
  const speed = unitOf(detailsOf(entry, 'best glide')[0], 'speed');
  const sink = unitOf(detailsOf(entry, 'minimum sink')[0], 'sink');
  if (!speed || !sink) return [];
  const curve = polar.polar;
  const whole = (mps: number) => Math.round(fromSi(mps, speed));
  const low = whole(minimumSinkSpeed(curve));
  const best = Math.max(whole(bestGlideSpeed(curve)), low + 1);
  const most = vneMps ? fromSi(vneMps.value, speed) : Infinity;
  const fast = Math.max(best + 1, Math.min(Math.round(best * 1.6), Math.floor(most)));
  const rows = [low, best, fast].map((value) => {
    const down = plain(fromSi(sinkAt(curve, toSi(value, speed)), sink), SINK_DECIMALS);
    return detailLine(entry, 'polar', `${value} ${speed.text} sink ${down} ${sink.text}`);
  });
  const lines = figureLines(entry).toSorted((a, b) => a.span.start - b.span.start);
  return instead(spot, lines, rows);
}

/** Whether edits leave the aircraft with the curve it had. */
function keepsCurve(aircraft: Aircraft, edits: Refactoring['edits'], context: FixContext): boolean {
  const after = checkedAfter(context, edits)?.understood.entries;
  const twin = after?.find(({ meaning }) => meaning.kind === 'aircraft' && meaning.name === aircraft.name)?.meaning;
  if (twin?.kind !== 'aircraft' || twin.polar.kind !== 'polar' || aircraft.polar.kind !== 'polar') return false;
  const [a, b] = [aircraft.polar.polar, twin.polar.polar];
  const { vsMps, vneMps } = aircraft;
  const speeds = [vsMps?.value ?? bestGlideSpeed(a), bestGlideSpeed(a), vneMps?.value ?? bestGlideSpeed(a)];
  return speeds.every((mps) => Math.abs(sinkAt(a, mps) - sinkAt(b, mps)) <= 0.005 * Math.abs(sinkAt(a, mps)));
}

export const rewritePolar: Refactorer = function* (range, context) {
  const { workspace, understood } = context;
  const located = locate(understood.file.syntax, range.start);
  const entry = located?.placed.syntax;
  const meaning = understood.entries.find(({ placed }) => placed.syntax === entry)?.meaning;
  const spot = entry && spotOf(workspace, understood.file.uri, entry);
  const { line } = located ?? {};
  if (!spot || !entry || !located || !line || meaning?.kind !== 'aircraft') return;
  const here =
    line === entry.head
      ? touches(line.span, located.offset)
      : /^(polar|best glide|minimum sink)$/.test(line.form?.id ?? '');
  if (!here) return;
  const ways = [
    { title: 'Write the polar as figures of a handbook', edits: figures(meaning, spot, entry) },
    { title: 'Write the polar as three points', edits: points(meaning, spot, entry) },
  ];
  for (const { title, edits } of ways)
    if (edits.length > 0 && keepsCurve(meaning, edits, context))
      yield { title, kind: CodeActionKind.RefactorRewrite, edits };
};
