/**
 * What the flight view and the extension say to each other. Each side checks what it gets before it uses any of it, so
 * that a message of another version, or of somebody else, is dropped and does no harm.
 */
import type { FlightViewCaret, FlightViewTask } from '../../server/features/flight-view.ts';
import type { PictureReach } from '../../server/plan/picture.ts';

/** The tasks of a file as they are now. */
export interface FlightMessage {
  readonly type: 'flight';
  readonly uri: string;
  /** The file's name, for the reader. */
  readonly file: string;
  /** Of the answer that this is: a question about it carries the same. */
  readonly id: string;
  readonly tasks: readonly FlightViewTask[];
  readonly caret: FlightViewCaret;
}

/** The caret moved, and the tasks are the same. */
export interface CaretMessage {
  readonly type: 'caret';
  readonly id: string;
  readonly caret: FlightViewCaret;
}

/** There is nothing to draw, and why: no drawing stays on the screen. */
export interface WordsMessage {
  readonly type: 'words';
  readonly text: string;
}

/** The text is newer than the drawing, and the server has not answered for it yet; null when it has. */
export interface WaitingMessage {
  readonly type: 'waiting';
  readonly text: string | null;
}

/** The answer to a {@link ReachAsk}. */
export interface ReachMessage {
  readonly type: 'reach';
  readonly ask: number;
  readonly reach: PictureReach | null;
}

/** To or from a part of the panel, such as `what-if`; the part checks the body. */
export interface PartMessage {
  readonly type: 'part';
  readonly part: string;
  readonly body: unknown;
}

export type ToView = FlightMessage | CaretMessage | WordsMessage | WaitingMessage | ReachMessage | PartMessage;

/** The view has been loaded, and waits for what to draw. */
export interface ReadyMessage {
  readonly type: 'ready';
}

/** A line of the plan is to be selected. */
export interface SelectMessage {
  readonly type: 'select';
  readonly uri: string;
  /** From 0. */
  readonly line: number;
  /** Whether the text takes the keyboard. */
  readonly focus: boolean;
}

/** Which fields are in reach from a place of a leg? */
export interface ReachAsk {
  readonly type: 'reach';
  /** Comes back with the answer. */
  readonly ask: number;
  /** Of the tasks that the place is of. */
  readonly id: string;
  /** Index, from 0. */
  readonly task: number;
  /** Number, from 1. */
  readonly leg: number;
  /** From the leg's start, m. */
  readonly xM: number;
}

export type FromView = ReadyMessage | SelectMessage | ReachAsk | PartMessage;

type Fields = Readonly<Record<string, unknown>>;

function fieldsOf(value: unknown): Fields | undefined {
  return typeof value === 'object' && value !== null && !Array.isArray(value) ? (value as Fields) : undefined;
}

const isText = (value: unknown): value is string => typeof value === 'string';
/** A whole number that can be an index or a count. */
const isCount = (value: unknown): value is number => Number.isSafeInteger(value) && (value as number) >= 0;
const isLength = (value: unknown): value is number => typeof value === 'number' && Number.isFinite(value) && value >= 0;

/** A message from the view, made afresh of what was checked; undefined when it is none. */
export function fromView(value: unknown): FromView | undefined {
  const fields = fieldsOf(value);
  switch (fields?.['type']) {
    case 'ready':
      return { type: 'ready' };
    case 'select': {
      const { uri, line, focus } = fields;
      return isText(uri) && isCount(line) && typeof focus === 'boolean'
        ? { type: 'select', uri, line, focus }
        : undefined;
    }
    case 'reach': {
      const { ask, id, task, leg, xM } = fields;
      return isCount(ask) && isText(id) && isCount(task) && isCount(leg) && isLength(xM)
        ? { type: 'reach', ask, id, task, leg, xM }
        : undefined;
    }
    case 'part': {
      const { part, body } = fields;
      return isText(part) ? { type: 'part', part, body } : undefined;
    }
    default:
      return undefined;
  }
}

function isCaret(value: unknown): value is FlightViewCaret {
  const caret = fieldsOf(value);
  return (
    caret !== undefined &&
    (caret['task'] === null || isCount(caret['task'])) &&
    (caret['leg'] === null || isCount(caret['leg'])) &&
    isReach(caret['reach'])
  );
}

function isReach(value: unknown): value is PictureReach | null {
  if (value === null) return true;
  const reach = fieldsOf(value);
  return reach !== undefined && isCount(reach['leg']) && isLength(reach['xM']) && Array.isArray(reach['fields']);
}

function isTask(value: unknown): value is FlightViewTask {
  const task = fieldsOf(value);
  const picture = fieldsOf(task?.['picture']);
  return picture !== undefined && Array.isArray(picture['legs']) && Array.isArray(task?.['findings']);
}

/** A message to the view; undefined when it is none. The pictures in it come from our own server, and are taken whole. */
export function toView(value: unknown): ToView | undefined {
  const fields = fieldsOf(value);
  switch (fields?.['type']) {
    case 'flight': {
      const { uri, file, id, tasks, caret } = fields;
      return isText(uri) && isText(file) && isText(id) && Array.isArray(tasks) && tasks.every(isTask) && isCaret(caret)
        ? { type: 'flight', uri, file, id, tasks, caret }
        : undefined;
    }
    case 'caret': {
      const { id, caret } = fields;
      return isText(id) && isCaret(caret) ? { type: 'caret', id, caret } : undefined;
    }
    case 'words':
      return isText(fields['text']) ? { type: 'words', text: fields['text'] } : undefined;
    case 'waiting': {
      const { text } = fields;
      return text === null || isText(text) ? { type: 'waiting', text } : undefined;
    }
    case 'reach': {
      const { ask, reach } = fields;
      return isCount(ask) && isReach(reach) ? { type: 'reach', ask, reach } : undefined;
    }
    case 'part': {
      const { part, body } = fields;
      return isText(part) ? { type: 'part', part, body } : undefined;
    }
    default:
      return undefined;
  }
}
