// The language server in editors that have nothing of ours but the settings in the README: Neovim and Emacs.
//
//   npm run test:clients
//
// Made for what Debian 12 has: Neovim 0.7.2, Emacs 28.2 with eglot 1.9. What is missing is installed with apt-get, as root
// or through sudo.
import { execFileSync, spawnSync } from 'node:child_process';
import {
  chmodSync,
  cpSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { type Editor, type Finding, until } from './editor.ts';
import { Emacs } from './emacs.ts';
import {
  COLOURED,
  COMPLETIONS,
  DEFINITION,
  FINDING,
  FIX,
  HOVER,
  LANGUAGE,
  LENS,
  MISTAKE,
  PLAN,
  REFERENCES,
  RENAMES,
} from './expectations.ts';
import { install } from './install.ts';
import { Neovim } from './neovim.ts';

const root = path.resolve(import.meta.dirname, '../..');
const program = path.join(root, 'dist/legwise.cjs');
const LIMIT = 10 * 60_000;

let passed = 0;
let failed = 0;
let editor: Editor | undefined;
const home = mkdtempSync(path.join(tmpdir(), 'clients-'));

async function test(name: string, body: () => Promise<void>): Promise<void> {
  const start = performance.now();
  try {
    await body();
    passed++;
    console.log(`ok    ${name} (${((performance.now() - start) / 1000).toFixed(1)} s)`);
  } catch (error) {
    failed++;
    console.log(`FAIL  ${name}\n      ${String(error).replaceAll('\n', '\n      ')}`);
    const said = await editor?.messages().catch(() => undefined);
    const last = said?.trim().split('\n').slice(-10).join('\n        ');
    if (last) console.log(`      the last that the editor said:\n        ${last}`);
  }
}

function cleanUp(): void {
  editor?.kill();
  rmSync(home, { recursive: true, force: true });
}
function giveUp(why: string): void {
  console.log(`FAIL  ${why}`);
  cleanUp();
  console.log(`\n${passed} passed, ${failed + 1} failed`);
  process.exit(1);
}
setTimeout(() => giveUp(`not done after ${LIMIT / 60_000} minutes`), LIMIT).unref();
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => giveUp(`ended by ${signal}`));

/** What the editors start with: `legwise` on the path, as after an installation, and nothing of this user's. */
function environment(): NodeJS.ProcessEnv {
  const bin = path.join(home, 'bin');
  mkdirSync(bin);
  symlinkSync(program, path.join(bin, 'legwise'));
  symlinkSync(process.execPath, path.join(bin, 'node'));
  chmodSync(program, 0o755);
  return { PATH: `${bin}${path.delimiter}${process.env.PATH}`, LANG: 'C.UTF-8', TMPDIR: home };
}

/** A club's repository with a name that a URI has to escape. */
function club(name: string, isAscii: boolean): string {
  const folder = path.join(home, name, isAscii ? 'Club 100%' : 'Club 100% Łąka');
  cpSync(path.join(root, 'samples'), folder, { recursive: true });
  execFileSync('git', ['init', '--quiet'], { cwd: folder });
  return folder;
}

function plansOf(folder: string): Map<string, string> {
  const plans = new Map<string, string>();
  for (const file of readdirSync(folder, { recursive: true, encoding: 'utf8' })) {
    if (file.endsWith('.taskplan')) plans.set(file, readFileSync(path.join(folder, file), 'utf8'));
  }
  return plans;
}

/** The text with another name in it. Remarks are left as they are: what they say is not a plan's to know. */
const renamed = (text: string, from: string, to: string): string =>
  text
    .split('\n')
    .map((line) => (/^\s*(#|note\b)/.test(line) ? line : line.replaceAll(from, to)))
    .join('\n');

/** The codes of what the command line finds. */
function findingsOnDisk(folder: string): string[] {
  const { stdout } = spawnSync(process.execPath, [program, 'check', '--format', 'json'], {
    cwd: folder,
    encoding: 'utf8',
    maxBuffer: 64 << 20,
  });
  return [...stdout.matchAll(/"code": *"([^"]+)"/g)].map(([, code]) => code ?? '');
}

const formatted = (text: string): string =>
  execFileSync(process.execPath, [program, 'format', '-'], { input: text, encoding: 'utf8' });

/** A plan with its blanks in disorder, from one in the standard layout. */
const untidied = (text: string): string =>
  text
    .split('\n')
    .map((line) => line.replace(/^ +(\S+) +/, '      $1 ').replace(/^(task|use) /, '$1    '))
    .join('\n');

const isProcess = (pid: number): boolean => {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
};

function expect(what: string, holds: boolean, seen: unknown): void {
  if (!holds) throw new Error(`${what}; there was ${JSON.stringify(seen)}`);
}

async function testEditor(now: Editor, folder: string): Promise<void> {
  editor = now;
  const failedBefore = failed;
  const plan = path.join(folder, PLAN);
  const of = (what: string) => `${now.name}: ${what}`;

  const start = performance.now();
  console.log(`      ${now.name} ${await now.start(folder)} (${((performance.now() - start) / 1000).toFixed(1)} s)`);
  for (const why of Object.values(now.cannot)) console.log(`cannot ${of(why)}`);
  let pid: number | undefined;
  let seen: unknown;
  const last = () => seen;
  const findings = async (wanted: (finding: Finding) => boolean) => {
    const all = await now.findings();
    seen = all;
    return all.find(wanted);
  };
  const isIntended = ({ severity, marked, message }: Finding) =>
    severity === FINDING.severity && FINDING.marked.test(marked) && FINDING.message.test(message);

  await test(of('a task plan starts the server, for the whole repository'), async () => {
    await now.open(plan);
    const server = await until('the server', () => now.server());
    pid = server.pid;
    expect(`the server is for ${folder}`, server.root === folder, server);
    expect(`the language is ${LANGUAGE}`, server.language === LANGUAGE, server);
  });
  await test(of('the finding is shown'), async () => {
    await until('the finding', () => findings(isIntended), last);
  });
  if (failed > failedBefore) throw new Error('without the finding, nothing of what follows can be seen');
  await test(of('comments, keywords and texts have their colours'), async () => {
    for (const { spot, colour } of COLOURED) {
      await until(
        `${spot.word} as a ${colour}`,
        async () => {
          seen = await now.colour(spot);
          return seen === colour;
        },
        last,
      );
    }
  });
  await test(of('a mistake is shown, and goes when the line goes'), async () => {
    const isMistake = ({ marked }: Finding) => MISTAKE.marked.test(marked);
    await now.typeBelow(MISTAKE.below, MISTAKE.text);
    await now.stopTyping();
    await until('the mistake', () => findings(isMistake), last);
    await now.revert();
    await until('no mistake', async () => !(await findings(isMistake)) && !!(await findings(isIntended)), last);
  });
  await test(of('a hover on the leg home says which height is required'), async () => {
    await now.askHover(HOVER.spot);
    await until(
      `a hover ${HOVER.says}`,
      async () => {
        const said = await now.hover();
        seen = said;
        return HOVER.says.test(said);
      },
      last,
    );
  });
  if (now.cannot.lenses === undefined) {
    await test(of('glide budgets stand at the legs'), async () => {
      await until(
        `a lens ${LENS}`,
        async () => {
          const lenses = await now.lenses();
          seen = lenses;
          return lenses.some((lens) => LENS.test(lens));
        },
        last,
      );
    });
  }
  for (const { typed, offers, take, line, quotes } of COMPLETIONS) {
    if (quotes && now.cannot.quotes !== undefined) continue;
    await test(of(`behind \`${typed}\` the points are offered`), async () => {
      try {
        await now.typeBelow(MISTAKE.below, typed);
        await now.askCompletion();
        const isDone = async () => (await now.place()).line.trim() === line;
        const offered = await until(
          `${offers.join(', ')} to be offered`,
          async () => {
            // What is offered alone may be taken at once.
            if (offers.length === 1 && (await isDone())) return [];
            const labels = await now.offered();
            seen = labels;
            return offers.every((offer) => labels.includes(offer)) && labels;
          },
          last,
        );
        if (offered.length > 0) await now.take(take);
        await until(
          `the line ${line}`,
          async () => {
            const there = (await now.place()).line;
            seen = there;
            return there.trim() === line;
          },
          last,
        );
      } finally {
        await now.stopTyping();
        await now.revert();
      }
    });
  }
  await test(of('a name leads to where it is defined'), async () => {
    await now.goToDefinition(DEFINITION.spot);
    await until(
      `the line ${DEFINITION.line} of ${DEFINITION.file}`,
      async () => {
        const place = await now.place();
        seen = place;
        return place.file === path.join(folder, DEFINITION.file) && DEFINITION.line.test(place.line);
      },
      last,
    );
  });
  await now.open(plan);
  await test(of('the uses of a name are listed, whichever file they are in'), async () => {
    await now.askReferences(REFERENCES.spot);
    await until(
      `uses in ${REFERENCES.hold.join(', ')}`,
      async () => {
        const listed = await now.references();
        seen = listed;
        return REFERENCES.hold.every((file) => listed.some((line) => file.test(line)));
      },
      last,
    );
  });
  await now.open(plan);
  await test(of('a fix mends a slip'), async () => {
    try {
      await now.typeBelow(FIX.below, FIX.typed);
      await now.stopTyping();
      await until('the slip', () => findings(({ marked }) => marked.includes(FIX.word)), last);
      await now.fix({ line: FIX.typed, word: FIX.word });
      await until(
        `the line ${FIX.line}`,
        async () => {
          const { line } = await now.place();
          seen = line;
          return line.trim() === FIX.line;
        },
        last,
      );
    } finally {
      await now.revert();
    }
  });
  for (const { spot, from, to } of RENAMES) {
    await test(of(`${from} is renamed in every file`), async () => {
      const before = plansOf(folder);
      const codes = findingsOnDisk(folder);
      const users = [...before].filter(([, text]) => renamed(text, from, '') !== text).map(([file]) => file);
      expect(`${from} is used in several files`, users.length > 2, users);
      await now.rename(spot, to);
      await until(`${to} in the text`, async () => (await now.text()).includes(`"${to}"`));
      await now.saveAll();
      for (const [file, text] of plansOf(folder)) {
        const wanted = renamed(before.get(file) ?? '', from, `"${to}"`);
        expect(`${file} has the new name`, text === wanted, text);
      }
      expect(
        'the plans have the findings they had',
        `${findingsOnDisk(folder)}` === `${codes}`,
        findingsOnDisk(folder),
      );
      await until('the finding', () => findings(isIntended), last);
    });
  }
  await test(of('an untidy plan is put in order'), async () => {
    const tidy = formatted(readFileSync(plan, 'utf8'));
    const untidy = untidied(tidy);
    expect('the plan is untidy, and can be put in order', untidy !== tidy && formatted(untidy) === tidy, untidy);
    const file = path.join(folder, 'plans/untidy.taskplan');
    writeFileSync(file, untidy);
    await now.open(file);
    await until('its findings', () => findings(isIntended), last);
    await now.format();
    await until(
      'the standard layout',
      async () => {
        const text = await now.text();
        seen = text;
        return text === tidy;
      },
      last,
    );
    await now.saveAll();
    expect('the file is in order', readFileSync(file, 'utf8') === tidy, readFileSync(file, 'utf8'));
  });
  await test(of('the server ends with the editor'), async () => {
    const server = pid ?? 0;
    expect('the server runs', server > 0 && isProcess(server), server);
    await now.quit();
    await until('the server to end', async () => !isProcess(server));
  });
  editor.kill();
  editor = undefined;
}

try {
  install();
  const env = environment();
  const editors: readonly { of: new (home: string, env: NodeJS.ProcessEnv) => Editor; at: string }[] = [
    { of: Neovim, at: 'n' },
    { of: Emacs, at: 'e' },
  ];
  for (const { of, at } of editors) {
    const own = path.join(home, at);
    mkdirSync(own, { mode: 0o700 }); // Emacs puts its socket nowhere else
    const one = new of(own, env);
    try {
      await testEditor(one, club(`${at}-club`, one.cannot.nonAscii !== undefined));
    } catch (error) {
      failed++;
      console.log(`FAIL  ${one.name}: ${String(error)}`);
      one.kill();
    }
  }
} catch (error) {
  failed++;
  console.log(`FAIL  ${String(error)}`);
}
cleanUp();
console.log(`\n${passed} passed, ${failed} failed`);
process.exit(failed > 0 ? 1 : 0);
