/** Makes a new plan: a few questions, most of them answered by a choice among the names of the workspace. */
import * as vscode from 'vscode';
import type { AnswerKind, Choice, Choices, Chosen } from '../server/features/new-text.ts';
import type { NewText, PlanAnswers } from '../server/features/new-text-plan.ts';
import { askServer, createFiles, exists, workspaceFolder } from './ask.ts';
import { fileNameFor } from './file-name.ts';
import type { Session } from './session.ts';

export const NEW_PLAN = 'legwise.newPlan';

/** Thrown to end the questions: the reader went away, or was told why there is nothing to ask. */
class Ended extends Error {}

type Item = vscode.QuickPickItem & { readonly choice?: Choice };

const separator = (label: string): Item => ({ label, kind: vscode.QuickPickItemKind.Separator });
const itemOf = (choice: Choice): Item => ({
  label: choice.name,
  description: choice.about,
  detail: choice.file,
  choice,
});

/** Shared files first, then plans, under a heading each where there are both. */
function itemsOf(choices: readonly Choice[], inPlans: string): Item[] {
  const shared = choices.filter(({ inPlan }) => !inPlan);
  const plans = choices.filter(({ inPlan }) => inPlan);
  const items = shared.map(itemOf);
  if (plans.length > 0) items.push(separator(inPlans), ...plans.map(itemOf));
  return items;
}

export class NewPlan {
  readonly #session: Session;

  constructor(session: Session) {
    this.#session = session;
  }

  register(): vscode.Disposable[] {
    return [
      vscode.commands.registerCommand(NEW_PLAN, async () => {
        try {
          await this.#run();
        } catch (error) {
          if (!(error instanceof Ended)) throw error;
        }
      }),
    ];
  }

  async #ask<R>(method: string, params: object): Promise<R> {
    const answer = await askServer<R>(this.#session, method, params);
    if (answer === undefined) throw new Ended();
    return answer;
  }

  async #pick(title: string, placeHolder: string, items: readonly Item[]): Promise<Item> {
    const options = { title, placeHolder, matchOnDescription: true, matchOnDetail: true, ignoreFocusOut: true };
    const item = await vscode.window.showQuickPick(items, options);
    if (!item) throw new Ended();
    return item;
  }

  /** A written answer that the server finds nothing wrong with; empty only where that means something. */
  async #write(title: string, kind: AnswerKind, options: vscode.InputBoxOptions, mayBeEmpty = false): Promise<string> {
    const answer = await vscode.window.showInputBox({
      ...options,
      title,
      ignoreFocusOut: true,
      validateInput: async (value) => {
        if (value.trim() === '' && mayBeEmpty) return undefined;
        return (await this.#ask<{ fault: string | null }>('legwise/newAnswer', { kind, answer: value })).fault;
      },
    });
    if (answer === undefined) throw new Ended();
    return answer.trim();
  }

  async #run(): Promise<void> {
    const root = await workspaceFolder();
    if (!root) return;
    const choices = await this.#ask<Choices>('legwise/newChoices', {});
    const [first] = choices.fields;
    if (!first) {
      const club = 'New club';
      const none =
        'No plan of this folder has a field yet, and a task starts at one. Make the files of the club first.';
      if ((await vscode.window.showInformationMessage(none, club)) === club)
        await vscode.commands.executeCommand('legwise.newClub');
      return;
    }

    const start = await this.#point('New plan: start', 'The field that the flight starts from', choices.fields, []);
    const height = await this.#write('New plan: start height', 'height', {
      prompt: `The height over ${start.name} where the glide begins, with what it is measured from`,
      placeHolder: '3200 ft MSL',
    });
    const turns = await this.#turns(start);
    const finish = await this.#finish(start, turns.at(-1) ?? start);
    const aircraft =
      choices.aircraft.length === 0
        ? undefined
        : (await this.#pick('New plan: aircraft', 'The glider', itemsOf(choices.aircraft, 'in other plans'))).choice;
    const pilot = aircraft
      ? await this.#write(
          'New plan: pilot',
          'mass',
          {
            prompt: 'The pilot with parachute and all that is carried. Left empty, the mass of the polar is assumed.',
            placeHolder: '82 kg',
          },
          true,
        )
      : '';
    const weather = await this.#weather(choices.weather);
    const reserve =
      choices.reserves.length < 2
        ? choices.reserves[0]
        : (await this.#pick('New plan: reserve', 'What is kept in hand', itemsOf(choices.reserves, 'in other plans')))
            .choice;
    const limits =
      choices.limits.length === 0
        ? undefined
        : (
            await this.#pick('New plan: limits', 'What the club asks of this task', [
              ...itemsOf(choices.limits, 'in other plans'),
              { label: 'No limits' },
            ])
          ).choice;
    const takeoff = await this.#write(
      'New plan: take-off',
      'time',
      {
        prompt: 'When it takes off, with the zone. Left empty, nothing is said about times, nor about limits on them.',
        placeHolder: '12:00Z or 14:00+02:00',
      },
      true,
    );
    const name = await this.#write('New plan: name', 'name', {
      prompt: 'What the task is called; its file gets the same name',
      value: turns.length === 0 ? `${start.name} to ${finish.name}` : turns.map((turn) => turn.name).join(' and '),
    });

    const folder = choices.folder ? vscode.Uri.parse(choices.folder) : vscode.Uri.joinPath(root, 'plans');
    const uri = await freeFile(folder, name);
    const answers: PlanAnswers = {
      ...{ name, height, start, turns, finish, weather, aircraft, reserve, limits },
      pilot: pilot === '' ? undefined : pilot,
      takeoff: takeoff === '' ? undefined : takeoff,
    };
    const made = await this.#ask<NewText>('legwise/newPlan', { uri: uri.toString(), answers });
    if ('refused' in made) {
      void vscode.window.showErrorMessage(`The plan was not written. ${made.refused}`);
      return;
    }
    if (!(await createFiles([{ uri, text: made.text }]))) {
      void vscode.window.showErrorMessage(`The plan was not written: ${uri.path} could not be made.`);
      return;
    }
    await showAt(uri, /^ {2}# qnh|^task /m);
  }

  async #point(title: string, what: string, points: readonly Choice[], before: readonly Item[]): Promise<Choice> {
    const { choice } = await this.#pick(title, what, [...before, ...itemsOf(points, 'in other plans')]);
    if (!choice) throw new Ended();
    return choice;
  }

  /** Points to turn at, one after the other, each list by the distance from the last. */
  async #turns(start: Choice): Promise<Choice[]> {
    const turns: Choice[] = [];
    for (;;) {
      const last = turns.at(-1) ?? start;
      const near = await this.#ask<Choices>('legwise/newChoices', { from: chosenOf(last) });
      const done: Item = { label: '$(check) No more', description: 'the next leg leads to the finish' };
      const isLast = ({ name, uri }: Choice) => name === last.name && uri === last.uri;
      const items = [
        ...itemsOf(
          near.turnpoints.filter((one) => !isLast(one)),
          'in other plans',
        ),
        separator('fields'),
        ...itemsOf(
          near.fields.filter((one) => !isLast(one)),
          'in other plans',
        ),
      ];
      const title = `New plan: turnpoint ${turns.length + 1}`;
      const where = `Where to turn after ${last.name}`;
      const { choice } = await this.#pick(title, where, turns.length === 0 ? [...items, done] : [done, ...items]);
      if (!choice) return turns;
      turns.push(choice);
    }
  }

  async #finish(start: Choice, last: Choice): Promise<Choice> {
    const { fields } = await this.#ask<Choices>('legwise/newChoices', { from: chosenOf(last) });
    const others = fields.filter(({ name, uri }) => name !== start.name || uri !== start.uri);
    const home = fields.find(({ name, uri }) => name === start.name && uri === start.uri) ?? start;
    return this.#point('New plan: finish', 'The field that the flight ends at', others, [itemOf(home)]);
  }

  async #weather(known: readonly Choice[]): Promise<PlanAnswers['weather']> {
    const fresh: Item = { label: '$(add) A day to fill in', description: 'its forecast is still to come' };
    const items = [fresh, ...itemsOf(known, 'copied from other plans')];
    const { choice } = await this.#pick('New plan: weather', 'The weather of the day', items);
    if (choice) return chosenOf(choice);
    const now = new Date();
    const two = (n: number) => String(n).padStart(2, '0');
    const today = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
    return { date: await this.#write('New plan: day', 'date', { prompt: 'The day of the flight', value: today }) };
  }
}

function chosenOf({ name, uri }: Choice): Chosen {
  return { name, uri };
}

/** A file in the folder that is not there yet, named after the task. */
async function freeFile(folder: vscode.Uri, name: string): Promise<vscode.Uri> {
  for (let i = 1; ; i++) {
    const uri = vscode.Uri.joinPath(folder, fileNameFor(name, i));
    if (!(await exists(uri))) return uri;
  }
}

/** Opens a file with the caret at the first match of a pattern. */
export async function showAt(uri: vscode.Uri, where: RegExp): Promise<void> {
  const document = await vscode.workspace.openTextDocument(uri);
  const found = where.exec(document.getText());
  const at = document.positionAt(found ? found.index : 0);
  await vscode.window.showTextDocument(document, { selection: new vscode.Range(at, at), preview: false });
}
