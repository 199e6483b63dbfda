/**
 * Requests beyond the protocol, for clients that know them: the least margin of a file, the texts of new plans and
 * clubs, the sheet to print, and a plan against an earlier text of it. What a client sends is checked before it is used.
 */
import type { Connection, GenericRequestHandler } from 'vscode-languageserver';
import type { MakePdf } from './answering.ts';
import type { ComparedWith } from './compare-with.ts';
import type { Encoding } from './encoding.ts';
import { ANSWER_KINDS, type Choices, type Chosen, choicesOf, faultOfAnswer } from './features/new-text.ts';
import { type NewFile, newClubFiles } from './features/new-text-club.ts';
import { type NewText, newPlanText } from './features/new-text-plan.ts';
import { type WorstMargin, worstMargin } from './features/worst-margin.ts';
import { normalUri, type SessionFiles } from './files-of-session.ts';
import type { Understood } from './plan/understand.ts';
import { fileName } from './plan/workspace.ts';
import { ErrorCodes, ResponseError } from './protocol.ts';
import type { Finding } from './rules/rule.ts';
import { check } from './rules/run.ts';
import type { Settings } from './settings.ts';

export interface RequestNeeds {
  readonly connection: Pick<Connection, 'onRequest'>;
  readonly files: SessionFiles;
  readonly encoding: () => Encoding;
  readonly settings: () => Settings;
  readonly check: (understood: Understood) => readonly Finding[];
  readonly pdf: MakePdf | undefined;
  readonly log: (what: string, error: unknown) => void;
}

type Part = Readonly<Record<string, unknown>>;

function refuse(what: string): never {
  throw new ResponseError(ErrorCodes.InvalidParams, what);
}

function partOf(value: unknown, what: string): Part {
  if (typeof value !== 'object' || value === null) refuse(`${what} is missing`);
  return value as Part;
}

function text(part: Part, key: string): string {
  const value = part[key];
  return typeof value === 'string' ? value : refuse(`${key} is no text`);
}

function textOrNone(part: Part, key: string): string | undefined {
  return part[key] === undefined || part[key] === null ? undefined : text(part, key);
}

function chosen(value: unknown, what: string): Chosen {
  const part = partOf(value, what);
  return { name: text(part, 'name'), uri: normalUri(text(part, 'uri')) };
}

function chosenOrNone(part: Part, key: string): Chosen | undefined {
  return part[key] === undefined || part[key] === null ? undefined : chosen(part[key], key);
}

/** The file that a request is about. */
async function fileOf(files: SessionFiles, params: unknown) {
  const uri = files.uriOf(text(partOf(partOf(params, 'params')['textDocument'], 'textDocument'), 'uri'));
  return files.ready(uri);
}

/** Registers the requests. A failure costs that answer alone, and is logged with its cause. */
export function registerRequests(needs: RequestNeeds): void {
  const { connection, files, encoding, settings, check: checkOpen, log } = needs;
  const { workspace } = files;

  function answer<R>(method: string, make: (params: unknown) => Promise<R> | R): void {
    const handler = async (params: unknown) => {
      try {
        return await make(params);
      } catch (error) {
        if (error instanceof ResponseError) return error;
        log(method, error);
        return new ResponseError(ErrorCodes.InternalError, `${method} failed; the output says why`);
      }
    };
    connection.onRequest(method, handler as GenericRequestHandler<R, void>);
  }

  answer<WorstMargin | null>('legwise/worstMargin', async (params) => {
    const understood = await fileOf(files, params);
    const worst = understood && worstMargin(workspace, understood, checkOpen(understood));
    return worst ? encoding().toClient(worst, understood.file.uri) : null;
  });

  answer<Choices>('legwise/newChoices', (params) =>
    choicesOf(workspace, chosenOrNone(partOf(params, 'params'), 'from')),
  );

  answer<{ fault: string | null }>('legwise/newAnswer', (params) => {
    const part = partOf(params, 'params');
    const kind = ANSWER_KINDS.find((one) => one === part['kind']);
    return { fault: faultOfAnswer(kind ?? refuse('kind is none that is known'), text(part, 'answer')) ?? null };
  });

  answer<NewText>('legwise/newPlan', (params) => {
    const part = partOf(params, 'params');
    const answers = partOf(part['answers'], 'answers');
    const day = partOf(answers['weather'], 'weather');
    const turns = answers['turns'];
    return newPlanText(workspace, files.uriOf(text(part, 'uri')), {
      name: text(answers, 'name'),
      aircraft: chosenOrNone(answers, 'aircraft'),
      pilot: textOrNone(answers, 'pilot'),
      weather: 'date' in day ? { date: text(day, 'date') } : chosen(day, 'weather'),
      reserve: chosenOrNone(answers, 'reserve'),
      limits: chosenOrNone(answers, 'limits'),
      takeoff: textOrNone(answers, 'takeoff'),
      start: chosen(answers['start'], 'start'),
      height: text(answers, 'height'),
      turns: Array.isArray(turns) ? turns.map((turn) => chosen(turn, 'turn')) : refuse('turns is no list'),
      finish: chosen(answers['finish'], 'finish'),
    });
  });

  answer<{ files: readonly NewFile[] } | { refused: string }>('legwise/newClub', (params) => {
    const answers = partOf(partOf(params, 'params')['answers'], 'answers');
    return newClubFiles({
      home: text(answers, 'home'),
      position: text(answers, 'position'),
      elevation: text(answers, 'elevation'),
      runway: textOrNone(answers, 'runway'),
    });
  });

  /** The plan, and the stamp that its sheets bear. */
  async function stamped(params: unknown) {
    const part = partOf(params, 'params');
    const time = text(part, 'time');
    const given = part['revision'] === null ? null : partOf(part['revision'], 'revision');
    const revision = given && { id: text(given, 'id'), uncommitted: given['uncommitted'] === true };
    return { understood: await fileOf(files, params), stamp: { revision, time } };
  }

  /** The plan and every file that it uses, by URI. */
  answer<{ uris: string[] } | null>('legwise/used', async (params) => {
    const understood = await fileOf(files, params);
    return understood ? { uris: understood.scope.files.map(({ uri }) => files.nameOf(uri)) } : null;
  });

  answer<{ html: string } | null>('legwise/brief', async (params) => {
    const { understood, stamp } = await stamped(params);
    if (!understood) return null;
    // Loaded when asked for, here and below: most sessions never print or compare.
    const { briefHtml } = await import('./reports/brief-html.ts');
    return { html: briefHtml(workspace, understood, checkOpen(understood), stamp) };
  });

  answer<{ base64: string } | { none: string } | null>('legwise/briefPdf', async (params) => {
    const { understood, stamp } = await stamped(params);
    if (!understood) return null;
    if (understood.tasks.length === 0) return { none: 'The file holds no task.' };
    const madeMs = partOf(params, 'params')['madeMs'];
    if (typeof madeMs !== 'number' || !Number.isFinite(madeMs)) refuse('madeMs is no number');
    if (!needs.pdf)
      return {
        none: 'In a browser no PDF can be made here. Save the sheet as HTML, open that, and print it to a PDF.',
      };
    const { briefSheets } = await import('./reports/brief-model.ts');
    return { base64: await needs.pdf(briefSheets(workspace, understood, checkOpen(understood), stamp), madeMs) };
  });

  answer<ComparedWith | null>('legwise/compare', async (params) => {
    const earlier = new Map<string, string | null>();
    for (const [uri, was] of Object.entries(partOf(partOf(params, 'params')['earlier'], 'earlier')))
      earlier.set(
        files.uriOf(uri),
        typeof was === 'string' || was === null ? was : refuse('an earlier text is no text'),
      );
    const now = await fileOf(files, params);
    if (!now) return null;
    const { compareWith } = await import('./compare-with.ts');
    return compareWith(files, now, earlier, fileName(now.file.uri), (side, understood) =>
      check(side, understood, settings().overrides, (code, error) => log(`the check ${code}`, error), settings().rules),
    );
  });
}
