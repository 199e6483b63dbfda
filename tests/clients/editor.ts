// What both editors can be made to do, in the words of a user, and what the tests can see of it.
import { execFile } from 'node:child_process';
import { promisify } from 'node:util';

/** A finding as the editor shows it. */
export interface Finding {
  /** Counted from 1. */
  readonly line: number;
  /** The text that is underlined. */
  readonly marked: string;
  readonly severity: string;
  readonly message: string;
}

export interface Server {
  readonly pid: number;
  readonly root: string;
  readonly language: string;
}

export interface Place {
  readonly file: string;
  /** The whole line that the cursor is on. */
  readonly line: string;
}

/** Where the cursor is put: on a word, in the first line that holds some text. */
export interface Spot {
  readonly line: string;
  readonly word: string;
}

export type Colour = 'comment' | 'keyword' | 'string';

export interface Editor {
  readonly name: string;
  /** What this editor cannot do at all; its tests say so, and go without. */
  readonly cannot: { readonly lenses?: string; readonly nonAscii?: string; readonly quotes?: string };
  /** Starts on a folder, with the configuration that the README gives and no other; returns its version. */
  start(folder: string): Promise<string>;
  /** Leaves as a user does. */
  quit(): Promise<void>;
  /** Ends it, whatever it is doing. */
  kill(): void;
  open(file: string): Promise<void>;
  server(): Promise<Server | undefined>;
  text(): Promise<string>;
  place(): Promise<Place>;
  findings(): Promise<Finding[]>;
  colour(spot: Spot): Promise<string>;
  lenses(): Promise<string[]>;
  /** What the editor says about a word when it is asked; empty until the answer is there. */
  askHover(spot: Spot): Promise<void>;
  hover(): Promise<string>;
  /** Types on a new line below the one that holds some text. */
  typeBelow(line: string, text: string): Promise<void>;
  /** Asks what may follow where one types. */
  askCompletion(): Promise<void>;
  offered(): Promise<string[]>;
  take(label: string): Promise<void>;
  stopTyping(): Promise<void>;
  goToDefinition(spot: Spot): Promise<void>;
  askReferences(spot: Spot): Promise<void>;
  /** Where a name is used, a line each as the editor lists it. */
  references(): Promise<string[]>;
  /** Takes the first fix that is offered. */
  fix(spot: Spot): Promise<void>;
  rename(spot: Spot, name: string): Promise<void>;
  format(): Promise<void>;
  /** The file as it is on disk. */
  revert(): Promise<void>;
  saveAll(): Promise<void>;
  /** What it said to the user so far. */
  messages(): Promise<string>;
}

const STEP = 20_000;
const PAUSE = 50;

export const sleep = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

/** Waits until `probe` returns something; the error says what was waited for and what there was instead. */
export async function until<T>(
  what: string,
  probe: () => Promise<T | undefined | false>,
  seen: () => unknown = () => undefined,
  ms = STEP,
): Promise<T> {
  const end = Date.now() + ms;
  let last = '';
  for (;;) {
    try {
      const value = await probe();
      if (value !== undefined && value !== false) return value;
      last = '';
    } catch (error) {
      last = `: ${String(error)}`;
    }
    if (Date.now() > end) {
      const there = await seen();
      throw new Error(
        `waited ${ms / 1000} s for ${what}${last}${there === undefined ? '' : `; there was ${JSON.stringify(there)}`}`,
      );
    }
    await sleep(PAUSE);
  }
}

/** Runs a program to its end and returns what it printed; Neovim without a screen prints to its standard error. */
export async function run(file: string, args: readonly string[], env: NodeJS.ProcessEnv): Promise<string> {
  const { stdout, stderr } = await promisify(execFile)(file, args, { env, timeout: STEP, maxBuffer: 16 << 20 });
  return stdout + stderr;
}

/** What a driver inside an editor answered. */
export function answerOf<T>(printed: string): T {
  const { answer, failed } = JSON.parse(printed) as { answer?: T; failed?: string };
  if (failed !== undefined) throw new Error(failed);
  return answer as T;
}
