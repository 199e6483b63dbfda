// The extension as a user gets it (packaged, installed) in a real VS Code, driven through a real browser.
//
//   npm run test:editor
//
// Needs Linux, a system Chromium (or CHROMIUM=path) and, the first time, the npm registry: VS Code goes to .cache/vscode.
import { execFileSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import {
  commits,
  compares,
  emptyFolder,
  makesClub,
  makesPlan,
  runsTask,
  staysRestricted,
  tellsStatus,
  walksThrough,
} from './clicks.ts';
import { DIED, FINDING, ITINERARY, LENS, PLAN, SELECTORS, THEMES } from './expectations.ts';
import { EditorPage, until } from './page.ts';
import {
  appliesFix,
  completesTurnpoint,
  measuresKeystrokes,
  opensRule,
  renamesField,
  seesHints,
  typesMistake,
} from './pilot.ts';
import { Stage } from './stage.ts';
import { picturesOfText, picturesOfViews } from './themes.ts';
import { clicksLeg, closesView, measuresView, movesWind, pointsAtPlaces, printsBrief, savesPdf } from './views.ts';
import { runInBrowser } from './web.ts';
import { install, Workbench } from './workbench.ts';

const root = path.resolve(import.meta.dirname, '../..');
const installed = path.join(root, '.cache/vscode');
const pictures = path.join(root, '.cache/screenshots');
const samples = path.join(root, 'samples');
const LIMIT = 35 * 60_000;

/** Sorted times in a few figures. */
function shares(unsorted: readonly number[]): string {
  const times = [...unsorted].sort((a, b) => a - b);
  const at = (share: number) => `${(times[Math.ceil(share * times.length) - 1] ?? Number.NaN).toFixed(0)} ms`;
  return `p50 ${at(0.5)}, p95 ${at(0.95)}, worst ${at(1)} of ${times.length}`;
}

// The tests type into the plan: never into the repository's own.
const home = mkdtempSync(path.join(tmpdir(), 'samples-'));
const folder = path.join(home, 'club');
let workbench: Workbench | undefined;
let stage: Stage | undefined;
let crashes = 0;

async function cleanUp(): Promise<void> {
  await stage?.close();
  await workbench?.stop();
  rmSync(home, { recursive: true, force: true });
}
let givenUp = false;
async function giveUp(why: string): Promise<void> {
  if (givenUp) return; // a signal can come twice: from the terminal and from npm
  givenUp = true;
  console.log(`FAIL  ${why}`);
  await cleanUp();
  console.log(`\n${stage?.passed ?? 0} passed, ${(stage?.failed ?? 0) + 1} failed`);
  process.exit(1);
}
setTimeout(() => void giveUp(`not done after ${LIMIT / 60_000} minutes`), LIMIT).unref();
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => void giveUp(`ended by ${signal}`));

try {
  rmSync(pictures, { recursive: true, force: true });
  mkdirSync(pictures, { recursive: true });
  install(installed);
  execFileSync('npm', ['run', '--silent', 'package'], { cwd: root, stdio: ['ignore', 'ignore', 'inherit'] });
  cpSync(samples, folder, { recursive: true });
  if (!existsSync(path.join(folder, PLAN))) throw new Error(`there is no samples/${PLAN}`);
  commits(folder);

  const code = new Workbench(installed);
  workbench = code;
  code.installExtension(path.join(root, 'dist/legwise.vsix'));
  const url = await code.start(folder);
  let zoom = 1;
  const desktop = new Stage('', pictures, async () => {
    code.forget();
    cpSync(samples, folder, { recursive: true });
    return EditorPage.open(installed, url, PLAN, zoom);
  });
  stage = desktop;
  const picture = (name: string) => desktop.page?.screenshot(path.join(pictures, `${name}.png`)) ?? Promise.resolve();

  const isChecked = await desktop.test('the finding is underlined', async (page) => {
    await page.toEnd();
    await page.waitForSquiggles(FINDING.severity);
  });
  if (!isChecked) throw new Error('without the finding, nothing of what follows can be seen');
  await desktop.test('a hover over it says what is wrong', async (page) => {
    await page.toEnd();
    await page.hoverSquiggle(FINDING.severity, FINDING.hover);
    await page.away();
  });
  await desktop.test('a lens stands above the plan', async (page) => {
    await page.lens(LENS);
  });
  await desktop.test('a hover over the itinerary says which height is required', async (page) => {
    await page.toEnd();
    await page.hoverToken(ITINERARY.token, ITINERARY.hover);
    await page.away();
  });
  await desktop.test('numbers stand behind the lines of the itinerary', seesHints);
  await desktop.test('the status tells the least margin and its leg', tellsStatus);
  await desktop.test('half a name is completed, quotes and all', completesTurnpoint);
  await desktop.test('a fix takes the finding away, and undo brings it back', appliesFix);
  await desktop.test('a field is renamed in the plan and in the file that defines it', (page) =>
    renamesField(page, folder),
  );
  await desktop.test('from key to squiggle', async (page) => {
    const times = await measuresKeystrokes(page, 12);
    console.log(`      from key to squiggle, a slip of the keyboard: ${shares(times)}`);
  });
  await desktop.test('a click on a leg of the flight view selects its line', async (page) => {
    await clicksLeg(page);
    await closesView(page);
  });
  await desktop.test('the numbers follow the pointer and the arrow keys on the side view', async (page) => {
    await pointsAtPlaces(page);
    await closesView(page);
  });
  await desktop.test('from key to flight view', async (page) => {
    const times = await measuresView(page, 10);
    console.log(`      from key to squiggle, another height: ${shares(times.map(({ squiggle }) => squiggle))}`);
    console.log(`      from key to flight view: ${shares(times.map(({ view }) => view))}`);
    console.log(`      the view behind the squiggle: ${shares(times.map(({ squiggle, view }) => view - squiggle))}`);
    await closesView(page);
  });
  await desktop.test(
    'a wind moved in the what-if is written into the plan, and one undo takes it back',
    async (page) => {
      await movesWind(page, picture);
      await closesView(page);
    },
  );
  await desktop.test('the sheet stands beside the text, and is printed', async (page) => {
    await printsBrief(page);
    await closesView(page);
  });
  await desktop.test('the sheet is saved as a PDF beside the plan', (page) => savesPdf(page, folder));
  await desktop.test('a mistake is underlined while it is typed, and undo takes it away', typesMistake);
  await desktop.test("the finding's code leads to the page of its rule", async (page) => {
    await page.toEnd();
    await opensRule(page);
    await picture('page');
    await page.command('View: Close Editor');
  });
  await desktop.test('a new plan is made by a few questions', (page) => makesPlan(page, folder));
  await desktop.test('the walkthrough has four steps, each with its picture', (page) => walksThrough(page, picture));
  await desktop.test('the task lists what is found among the problems', (page) => runsTask(page, picture));
  await desktop.test('an edit is compared with the last commit', (page) => compares(page, picture));
  await desktop.test('a server that is killed comes back, and its findings with it', async (page) => {
    await page.toEnd();
    const before = await page.waitForSquiggles(FINDING.severity);
    const first = await until('the language server', async () => code.languageServer());
    process.kill(first, 'SIGKILL');
    await comesBack(page, first, before);
  });
  await desktop.test('a server that hangs comes back, and its findings with it', async (page) => {
    await page.toEnd();
    const before = await page.waitForSquiggles(FINDING.severity);
    const first = await until('the language server', async () => code.languageServer());
    process.kill(first, 'SIGSTOP'); // it is there, and does nothing
    await comesBack(page, first, before);
  });
  await desktop.test('the server restarts when asked', async (page) => {
    await page.toEnd();
    const first = await until('the language server', async () => code.languageServer());
    await page.command('Legwise: Restart the language server');
    await anotherServer(first);
    await page.waitForSquiggles(FINDING.severity);
  });

  async function anotherServer(first: number): Promise<void> {
    await until('another language server', async () => {
      const now = code.languageServer();
      return now !== undefined && now !== first;
    });
  }
  async function comesBack(page: EditorPage, first: number, before: number): Promise<void> {
    await page.page.locator(SELECTORS.notification, { hasText: DIED }).first().waitFor();
    await anotherServer(first);
    await page.waitForSquiggles(FINDING.severity, before);
    await page.hoverToken(ITINERARY.token, ITINERARY.hover);
    await page.away();
    await page.command('Notifications: Clear All Notifications');
  }

  for (const theme of THEMES) {
    for (const times of [1, 2]) {
      // The theme is read when the workbench opens.
      await desktop.close();
      // At twice the size the small map of the text would lie over it.
      code.settings({ 'workbench.colorTheme': theme.setting, 'editor.minimap.enabled': times === 1 });
      zoom = times;
      const of = (name: string) => picture(`${theme.name}-${times * 100}-${name}`);
      await desktop.test(`pictures of the text, ${theme.name} at ${times * 100} %`, async (page) => {
        await page.page.locator(theme.workbench).first().waitFor();
        await picturesOfText(page, of);
      });
      await desktop.test(`pictures of the views, ${theme.name} at ${times * 100} %`, async (page) => {
        await picturesOfViews(page, of);
      });
    }
  }

  await desktop.close();
  const empty = emptyFolder(home);
  const club = new Stage('', pictures, () => {
    const there = new URL(url);
    there.searchParams.set('folder', empty);
    return EditorPage.open(installed, there.href);
  });
  await club.test('a new club is made by a few questions, in an empty folder', async (page) => {
    await makesClub(page, empty);
    await page.screenshot(path.join(pictures, 'club.png'));
  });
  await club.close();

  // A folder that nobody has said to trust, in a workbench of its own.
  await code.stop();
  const restricted = new Workbench(installed);
  workbench = restricted;
  restricted.installExtension(path.join(root, 'dist/legwise.vsix'));
  restricted.settings({ 'security.workspace.trust.enabled': true, 'security.workspace.trust.startupPrompt': 'never' });
  const untrusted = await restricted.start(folder, { isTrusted: false });
  const doubted = new Stage('', pictures, () => {
    restricted.forget();
    cpSync(samples, folder, { recursive: true });
    return EditorPage.open(installed, untrusted, PLAN);
  });
  await doubted.test('in a folder that is not trusted plans are checked, and nothing is run', async (page) => {
    await staysRestricted(page);
    await page.screenshot(path.join(pictures, 'restricted.png'));
  });
  await doubted.close();
  for (const one of [club, doubted]) {
    desktop.passed += one.passed;
    desktop.failed += one.failed;
  }
} catch (error) {
  if (givenUp) await new Promise(() => undefined); // what was awaited ended with the browser: giveUp() has the last word
  crashes++;
  console.log(`FAIL  ${String(error)}`);
}
await cleanUp();
const web = await runInBrowser(installed, path.join(root, 'dist/legwise.vsix'), samples, pictures).catch(
  (error: unknown) => {
    console.log(`FAIL  in the browser: ${String(error)}`);
    return { passed: 0, failed: 1 };
  },
);
const passed = (stage?.passed ?? 0) + web.passed;
const failed = (stage?.failed ?? 0) + crashes + web.failed;
console.log(`\nscreenshots: ${path.relative(process.cwd(), pictures)}`);
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed > 0 ? 1 : 0);
