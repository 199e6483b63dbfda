/** Fixes for what is on board: less ballast, and the mass of the pilot written out. */
import type { QuantityNode } from '../../../grammar/syntax.ts';
import { fromSi } from '../../../grammar/units.ts';
import type { Finding } from '../../rules/rule.ts';
import { replaceIn, spotOf } from './edit.ts';
import type { Fix, FixContext, Fixer } from './fix.ts';
import { taskOf } from './legs.ts';
import { plain, quantityText } from './writing.ts';

/** The ballast of a task changed to `kg`, or taken out at nothing. */
function ballastOf(finding: Finding, context: FixContext, kg: number): Fix | undefined {
  const task = taskOf(finding, context);
  const spot = task && spotOf(context.workspace, task.uri, task.entry);
  const line = task?.task.aircraft?.line;
  const node = line?.slots['ballast'] as QuantityNode | undefined;
  const unit = node?.unit?.unit;
  if (!line || !spot || !node || !unit) return undefined;
  const text = quantityText(kg, unit, 1, 'down');
  if (!text.startsWith('0 ')) {
    return { title: `Take ${text} of ballast`, edits: [replaceIn(spot, node.span, text)], preferred: true };
  }
  const { tokens } = line;
  const at = tokens.findIndex((tok) => tok.startOffset === node.span.start);
  const word = tokens[at - 2];
  const before = tokens[at - 3];
  const next = tokens.find((tok) => tok.startOffset >= node.span.end);
  if (!word || !before) return undefined;
  // `with ballast 100 kg and pilot 82 kg` keeps its `with`.
  const pilot = next?.image.toLowerCase() === 'and' ? tokens[tokens.indexOf(next) + 1] : undefined;
  const span = pilot
    ? { start: tokens[at - 1]?.startOffset ?? node.span.start, end: pilot.startOffset }
    : { start: before.startOffset + before.image.length, end: node.span.end };
  return { title: 'Take no ballast', edits: [replaceIn(spot, span, '')], preferred: true };
}

/** Heavier than allowed: less ballast, where that is enough. */
export const lessBallast: Fixer = (finding, context) => {
  const task = taskOf(finding, context);
  const { aircraft, massKg } = task ?? {};
  const ballast = task?.task.aircraft?.ballastKg;
  const most = aircraft?.meaning.maximumMassKg?.value;
  if (!ballast || ballast === 'unread' || massKg === undefined || most === undefined) return [];
  const left = ballast.value - (massKg - most);
  const fix = left >= 0 ? ballastOf(finding, context, left) : undefined;
  return fix ? [fix] : [];
};

/** More ballast than the aircraft takes: the most, or none. */
export const mostBallast: Fixer = (finding, context) => {
  const most = taskOf(finding, context)?.aircraft?.meaning.ballastMostKg?.value ?? 0;
  const fix = ballastOf(finding, context, most);
  return fix ? [fix] : [];
};

/** The mass of the polar is assumed: the pilot that makes it is written. */
export const writePilot: Fixer = (finding, context) => {
  const task = taskOf(finding, context);
  const spot = task && spotOf(context.workspace, task.uri, task.entry);
  const { polarMassKg, emptyMassKg } = task?.aircraft?.meaning ?? {};
  const line = task?.task.aircraft?.line;
  const name = line?.slots['aircraft'];
  if (!spot || !line || !name || !polarMassKg || !emptyMassKg || polarMassKg.value <= emptyMassKg.value) return [];
  const { mass } = context.understood.units;
  const text = `${plain(fromSi(polarMassKg.value - emptyMassKg.value, mass), 3)} ${mass.text}`;
  const ballast = line.slots['ballast'];
  const next = line.tokens.find((tok) => tok.startOffset >= name.span.end);
  const edit =
    ballast && next
      ? replaceIn(
          spot,
          { start: next.startOffset, end: next.startOffset + next.image.length },
          `with pilot ${text} and`,
        )
      : replaceIn(spot, { start: name.span.end, end: name.span.end }, ` with pilot ${text}`);
  return [{ title: `Write the mass that is assumed: a pilot of ${text}`, edits: [edit] }];
};
