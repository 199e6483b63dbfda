/** A server that dies again and again: the extension starts it again, but not for ever, and says what it does. */
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import type { BaseLanguageClient } from 'vscode-languageclient';

const told = vi.hoisted(() => ({
  output: [] as string[],
  warnings: [] as string[],
  errors: [] as string[],
  choose: undefined as unknown,
}));

vi.mock('vscode', () => ({
  window: {
    createOutputChannel: () => ({
      error: (what: string) => void told.output.push(what),
      warn() {},
      show() {},
      dispose() {},
    }),
    showWarningMessage: async (message: string) => void told.warnings.push(message),
    showErrorMessage: async (message: string) => {
      told.errors.push(message);
      return told.choose;
    },
  },
  languages: { createLanguageStatusItem: () => ({ dispose() {} }) },
  env: { uriScheme: 'vscode' },
  workspace: { workspaceFolders: [], onDidChangeWorkspaceFolders: () => ({ dispose() {} }) },
  LanguageStatusSeverity: { Information: 0, Error: 2 },
  EventEmitter: class {
    event() {}
    fire() {}
    dispose() {}
  },
}));
vi.mock('vscode-languageclient', () => ({ CloseAction: {}, ErrorAction: {}, RevealOutputChannelOn: {} }));

const { Session } = await import('../../client/session.ts');

beforeEach(() => {
  vi.useFakeTimers({ toFake: ['Date'] });
  told.warnings.length = 0;
  told.errors.length = 0;
  told.choose = undefined;
});
afterEach(() => void vi.useRealTimers());

/** A session whose servers are nothing but a way to die. */
async function started() {
  const die: ((how: string) => void)[] = [];
  const session = new Session(() => {
    const ended = new Promise<string>((resolve) => die.push(resolve));
    const client = { start: async () => {}, dispose: async () => {} } as unknown as BaseLanguageClient;
    return { client, ended, kill: () => die.at(-1)?.('was ended') };
  });
  await session.start();
  if (die.length === 0) throw new Error(told.output.join());
  const servers = (count: number) => vi.waitFor(() => expect([die.length, session.state]).toEqual([count, 'running']));
  await servers(1);
  return { session, servers, killed: () => die.at(-1)?.('was ended by SIGKILL') };
}

test('five times within three minutes it is started again; at the sixth death it stays stopped, and that is said', async () => {
  const { session, servers, killed } = await started();
  for (let death = 1; death <= 5; death++) {
    killed();
    await servers(death + 1);
  }
  expect(told.warnings).toHaveLength(5);
  expect(new Set(told.warnings)).toEqual(
    new Set(['The Legwise language server was ended by SIGKILL. It is being started again.']),
  );
  vi.setSystemTime(Date.now() + 3 * 60_000 - 1000);
  killed();
  await vi.waitFor(() => expect(session.state).toBe('stopped'));
  expect(told.errors).toEqual([
    'The Legwise language server was ended by SIGKILL. It has died 6 times within three minutes, so it stays stopped: plans are not checked.',
  ]);
  // Asked to, it starts, and the count starts afresh.
  await session.restart();
  await servers(7);
  killed();
  await servers(8);
});

test('deaths that lie further apart are forgotten', async () => {
  const { servers, killed } = await started();
  for (let death = 1; death <= 12; death++) {
    vi.setSystemTime(Date.now() + 37_000);
    killed();
    await servers(death + 1);
  }
  expect(told.errors).toEqual([]);
});

test('the button of the message starts it again', async () => {
  const { servers, killed } = await started();
  told.choose = 'Restart';
  for (let death = 1; death <= 6; death++) {
    killed();
    await servers(death + 1);
  }
});
