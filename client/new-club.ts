/** Makes the files of a new club around its home field. */
import * as vscode from 'vscode';
import type { AnswerKind } from '../server/features/new-text.ts';
import type { ClubAnswers, NewFile } from '../server/features/new-text-club.ts';
import { askServer, createFiles, exists, workspaceFolder } from './ask.ts';
import { NEW_PLAN, showAt } from './new-plan.ts';
import type { Session } from './session.ts';

export const NEW_CLUB = 'legwise.newClub';

const QUESTIONS: readonly {
  readonly key: keyof ClubAnswers;
  readonly kind: AnswerKind;
  readonly prompt: string;
  readonly placeHolder: string;
  readonly mayBeEmpty?: true;
}[] = [
  { key: 'home', kind: 'name', prompt: 'The name of the home field', placeHolder: 'Larkfield' },
  {
    key: 'position',
    kind: 'position',
    prompt: 'Where it is: latitude and longitude with their letters, as decimals or in minutes',
    placeHolder: '47.2031 N 19.4410 E',
  },
  { key: 'elevation', kind: 'elevation', prompt: 'How high it lies above sea level', placeHolder: '190 m' },
  {
    key: 'runway',
    kind: 'runway',
    prompt: 'Its main runway: ends, length and surface. It may stay empty.',
    placeHolder: '18/36 900 m surface grass',
    mayBeEmpty: true,
  },
];

export class NewClub {
  readonly #session: Session;

  constructor(session: Session) {
    this.#session = session;
  }

  register(): vscode.Disposable[] {
    return [vscode.commands.registerCommand(NEW_CLUB, () => this.#run())];
  }

  async #run(): Promise<void> {
    const root = await workspaceFolder();
    if (!root) return;
    const answers: Partial<Record<keyof ClubAnswers, string>> = {};
    for (const [i, { key, kind, prompt, placeHolder, mayBeEmpty }] of QUESTIONS.entries()) {
      const answer = await vscode.window.showInputBox({
        title: `New club (${i + 1}/${QUESTIONS.length})`,
        prompt,
        placeHolder,
        ignoreFocusOut: true,
        validateInput: async (value) => {
          if (value.trim() === '' && mayBeEmpty) return undefined;
          const told = await askServer<{ fault: string | null }>(this.#session, 'legwise/newAnswer', {
            kind,
            answer: value,
          });
          return told ? told.fault : 'The language server is not running.';
        },
      });
      if (answer === undefined) return;
      if (answer.trim() !== '') answers[key] = answer.trim();
    }
    const made = await askServer<{ files: NewFile[] } | { refused: string }>(this.#session, 'legwise/newClub', {
      answers,
    });
    if (!made) return;
    if ('refused' in made) {
      void vscode.window.showErrorMessage(`Nothing was written. ${made.refused}`);
      return;
    }
    const files = made.files.map(({ path, text }) => ({ uri: vscode.Uri.joinPath(root, path), path, text }));
    const there: string[] = [];
    for (const { uri, path } of files) if (await exists(uri)) there.push(path);
    if (there.length > 0) {
      const is = there.length === 1 ? 'is' : 'are';
      void vscode.window.showErrorMessage(`Nothing was written: ${there.join(', ')} ${is} there already.`);
      return;
    }
    if (!(await createFiles(files))) {
      void vscode.window.showErrorMessage('Nothing was written: the files could not be made.');
      return;
    }
    const fleet = files.find(({ path }) => path.endsWith('fleet.taskplan'));
    if (fleet) await showAt(fleet.uri, /^aircraft /m);
    const plan = 'New plan';
    const next = 'The files of the club are there. Fill in a glider from its flight manual; then make a plan.';
    if ((await vscode.window.showInformationMessage(next, plan)) === plan)
      await vscode.commands.executeCommand(NEW_PLAN);
  }
}
