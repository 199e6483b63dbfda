/** What the what-if in the panel and its half in the extension say to each other; each side checks what it gets. */

import type { WhatIfAnswer } from '../../server/features/what-if.ts';
import type { SharedChoice } from '../../server/features/what-if-edits.ts';

/** What would be, with these changes? */
export interface WhatIfAsk {
  readonly type: 'ask';
  /** Comes back with the answer. */
  readonly ask: number;
  readonly uri: string;
  /** Index, from 0. */
  readonly task: number;
  /** The server checks them. */
  readonly changes: unknown;
  readonly shared: SharedChoice;
  /** Whether the answers are wanted as well. */
  readonly answers: boolean;
}

/** The changes are to be written into the plan. */
export interface WhatIfWrite {
  readonly type: 'write';
  readonly uri: string;
  readonly task: number;
  readonly changes: unknown;
  readonly shared: SharedChoice;
}

export type FromWhatIf = WhatIfAsk | WhatIfWrite;

export type ToWhatIf =
  /** It is to be looked at. */
  | { readonly type: 'open' }
  | { readonly type: 'answer'; readonly ask: number; readonly answer: WhatIfAnswer }
  | { readonly type: 'failed'; readonly ask: number; readonly why: string }
  | { readonly type: 'written'; readonly done: boolean; readonly text: string };

type Fields = Readonly<Record<string, unknown>>;

function fieldsOf(value: unknown): Fields | undefined {
  return typeof value === 'object' && value !== null && !Array.isArray(value) ? (value as Fields) : undefined;
}

const isText = (value: unknown): value is string => typeof value === 'string';
const isCount = (value: unknown): value is number => Number.isSafeInteger(value) && (value as number) >= 0;
const isChoice = (value: unknown): value is SharedChoice => value === 'copy' || value === 'in place';

/** A message from the view; undefined when it is none. */
export function fromWhatIf(value: unknown): FromWhatIf | undefined {
  const fields = fieldsOf(value);
  if (!fields) return undefined;
  const { type, ask, uri, task, changes, shared, answers } = fields;
  if (!isText(uri) || !isCount(task) || !isChoice(shared) || !fieldsOf(changes)) return undefined;
  if (type === 'write') return { type, uri, task, changes, shared };
  if (type !== 'ask' || !isCount(ask) || typeof answers !== 'boolean') return undefined;
  return { type, ask, uri, task, changes, shared, answers };
}

/** A message to the view; undefined when it is none. An answer comes from our own server, and is taken whole. */
export function toWhatIf(value: unknown): ToWhatIf | undefined {
  const fields = fieldsOf(value);
  switch (fields?.['type']) {
    case 'open':
      return { type: 'open' };
    case 'answer': {
      const { ask, answer } = fields;
      const held = fieldsOf(answer);
      return isCount(ask) && held && Array.isArray(held['legs']) && fieldsOf(held['controls'])
        ? { type: 'answer', ask, answer: answer as WhatIfAnswer }
        : undefined;
    }
    case 'failed': {
      const { ask, why } = fields;
      return isCount(ask) && isText(why) ? { type: 'failed', ask, why } : undefined;
    }
    case 'written': {
      const { done, text } = fields;
      return typeof done === 'boolean' && isText(text) ? { type: 'written', done, text } : undefined;
    }
    default:
      return undefined;
  }
}
