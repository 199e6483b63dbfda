/** The fault of a value that a finding tells of, and how such a value is written again. */
import type { QuantityNode } from '../../../grammar/syntax.ts';
import type { Slot } from '../../../grammar/vocabulary.ts';
import type { Fault } from '../../plan/meaning.ts';
import { placeOfFault } from '../../rules/apart.ts';
import type { Finding } from '../../rules/rule.ts';
import { type Spot, spotOf } from './edit.ts';
import { type FixContext, meaningAt } from './fix.ts';

export type FaultCode = Fault['fault']['code'];

/** A fault of whatever kind, with where its entry stands. */
export interface AnyFaulty {
  readonly spot: Spot;
  readonly found: Fault;
}

export interface Faulty<C extends FaultCode> extends AnyFaulty {
  readonly found: Fault & { readonly fault: Extract<Fault['fault'], { code: C }> };
}

/** The fault behind a finding with this code. */
export function faultBehind<C extends FaultCode>(
  code: C,
  finding: Finding,
  context: FixContext,
): Faulty<C> | undefined {
  const { at } = finding;
  const { workspace } = context;
  const meaning = meaningAt(finding, context);
  const spot = spotOf(workspace, at.uri, at.entry);
  const found = meaning?.faults.find(
    (one): one is Faulty<C>['found'] => one.fault.code === code && placeOfFault(one, at.entry).start === at.span.start,
  );
  return spot && found && { spot, found };
}

/** Whether a slot holds a height, which nobody gives in miles. */
export function isHeight(slot: Slot): boolean {
  return slot.kind === 'altitude' || slot.kind === 'elevation' || slot.slot === 'height';
}

/** The quantity that a fault lies in: a part of a duration, or the value itself. */
export function quantityOf({ found: { node, fault } }: AnyFaulty): QuantityNode | undefined {
  if (node.kind === 'quantity') return node;
  if (node.kind !== 'duration') return undefined;
  return node.parts.find(({ span }) => span.start <= fault.span.start && fault.span.end <= span.end);
}

/** A number and a unit as the standard layout sets them. */
export function withUnit(number: string, unit: string): string {
  return unit === '°' || unit === '°M' ? `${number}${unit}` : `${number} ${unit}`;
}
