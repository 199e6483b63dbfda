// The packaged extension in a browser with no server behind it: its language server is a web worker, and the club's
// files are those of a file system that only the page knows.
//
//   node tests/editor/web.ts      alone, with the extension packed by `npm run package`
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { emptyFolder, makesClub, makesPlan, tellsStatus } from './clicks.ts';
import { DIED, FINDING, ITINERARY, LENS, PLAN, SELECTORS, THEMES } from './expectations.ts';
import { EditorPage, until } from './page.ts';
import { appliesFix, completesTurnpoint, opensRule, renamesField, seesHints, typesMistake, undoes } from './pilot.ts';
import { Stage } from './stage.ts';
import { clicksLeg, closesView, movesWind, printsBrief } from './views.ts';
import { WebWorkbench } from './web-workbench.ts';
import { install } from './workbench.ts';

/** A line in another layout than the standard one, and what formatting makes of it. */
const UNTIDY = { typed: 'note      "tidy   me"', row: 'Format Document', tidy: /^ {2}note +"tidy {3}me"$/m };

/** A worker as the browser's driver sees it. */
interface BrowserWorker {
  evaluate<T>(run: string): Promise<T>;
}

export interface Counts {
  readonly passed: number;
  readonly failed: number;
}

/** The web workers that run our server. */
async function servers(page: EditorPage): Promise<BrowserWorker[]> {
  const { workers } = page.page as unknown as { workers(): BrowserWorker[] };
  const found: BrowserWorker[] = [];
  for (const worker of workers.call(page.page)) {
    // One that is busy for ever, or gone, does not answer.
    const name = await Promise.race([
      worker.evaluate<string>('self.name').catch(() => ''),
      new Promise<string>((resolve) => setTimeout(() => resolve(''), 1000)),
    ]);
    if (name.includes('server-web.js')) found.push(worker);
  }
  return found;
}

/** Ends or blocks the server by running SCRIPT in it, and waits until another one serves. */
async function comesBack(page: EditorPage, script: string): Promise<void> {
  await page.toEnd();
  const before = await page.waitForSquiggles(FINDING.severity);
  const [server] = await until('the server', async () => {
    const found = await servers(page);
    return found.length === 1 ? found : undefined;
  });
  void server?.evaluate(script).catch(() => undefined);
  await page.page.locator(SELECTORS.notification, { hasText: DIED }).first().waitFor();
  await until('another server', async () => (await servers(page)).some((one) => one !== server));
  await page.waitForSquiggles(FINDING.severity, before);
  await page.hoverToken(ITINERARY.token, ITINERARY.hover);
  await page.command('Notifications: Clear All Notifications');
}

/**
 * Runs the session in the browser and tells each test on standard output. INSTALLED holds what install() put there,
 * VSIX is the packaged extension, SAMPLES a club's repository, which is copied; pictures go to the folder PICTURES.
 */
export async function runInBrowser(
  installed: string,
  vsix: string,
  samples: string,
  pictures: string,
): Promise<Counts> {
  const home = mkdtempSync(path.join(tmpdir(), 'web-'));
  const folder = path.join(home, 'club');
  cpSync(samples, folder, { recursive: true });
  mkdirSync(pictures, { recursive: true });
  const code = await WebWorkbench.start(installed, vsix, folder, path.join(home, 'extension'));
  let url = code.url;
  let zoom = 1;
  const stage = new Stage('in the browser: ', pictures, () => {
    cpSync(samples, folder, { recursive: true });
    return EditorPage.open(installed, url, PLAN, zoom);
  });
  const picture = (name: string) => stage.page?.screenshot(path.join(pictures, `web-${name}.png`)) ?? Promise.resolve();
  try {
    const isChecked = await stage.test('the finding is underlined', async (page) => {
      await page.toEnd();
      await page.waitForSquiggles(FINDING.severity);
    });
    if (!isChecked) return { passed: stage.passed, failed: stage.failed };
    await stage.test('a hover over it says what is wrong', async (page) => {
      await page.toEnd();
      await page.hoverSquiggle(FINDING.severity, FINDING.hover);
      await page.away();
    });
    await stage.test('a lens stands above the plan', async (page) => {
      await page.lens(LENS);
    });
    await stage.test('numbers stand behind the itinerary', seesHints);
    await stage.test('the status tells the least margin and its leg', tellsStatus);
    await stage.test('a hover over the itinerary says which height is required', async (page) => {
      await page.toEnd();
      await page.hoverToken(ITINERARY.token, ITINERARY.hover);
      await page.away();
    });
    await stage.test('plans that nobody has open are checked', async (page) => {
      await page.command('View: Focus Problems (Errors, Warnings, Infos)');
      await until('findings of another plan', async () =>
        (await page.page.locator('.markers-panel').allInnerTexts()).some((text) =>
          /taskplan/.test(text.replace(PLAN, '')),
        ),
      );
      await picture('problems');
      await page.command('View: Toggle Panel Visibility');
    });
    await stage.test('a turnpoint is completed', completesTurnpoint);
    await stage.test('a fix is applied and undone', appliesFix);
    await stage.test('a field is renamed in every file', (page) => renamesField(page, folder));
    await stage.test('a plan is formatted', async (page) => {
      await page.typeAtEnd(UNTIDY.typed);
      await page.shows(/tidy {3}me/);
      await until('the plan in order', async () => {
        await page.command(UNTIDY.row); // the editor drops it, without a word, when something moves the caret meanwhile
        return page.shows(UNTIDY.tidy, 15_000);
      });
      await undoes(page);
    });
    await stage.test('a mistake is underlined while it is typed', typesMistake);
    await stage.test("the finding's code leads to the page of its rule", async (page) => {
      await page.toEnd();
      await opensRule(page);
      await picture('rule');
      await page.command('View: Close Editor');
    });
    await stage.test('a click on a leg of the flight view selects its line', async (page) => {
      await clicksLeg(page);
      await picture('flight');
      await closesView(page);
    });
    await stage.test('a wind moved is written into the plan, and one undo takes it back', async (page) => {
      await movesWind(page, picture);
      await closesView(page);
    });
    await stage.test('the sheet stands beside the text, and how it is printed is said', async (page) => {
      await printsBrief(page);
      await picture('sheet');
      await closesView(page);
    });
    await stage.test('a new plan is made by a few questions', (page) => makesPlan(page, folder));
    await stage.test('a worker that ends comes back, and its findings with it', (page) =>
      comesBack(page, 'self.close()'),
    );
    await stage.test('a worker that hangs comes back, and its findings with it', (page) =>
      comesBack(page, 'for (;;);'),
    );
    await stage.test('nothing was written into the plan', async () => {
      const text = readFileSync(path.join(folder, PLAN), 'utf8');
      if (text !== readFileSync(path.join(samples, PLAN), 'utf8')) throw new Error(`the plan is now\n${text}`);
    });
    for (const theme of THEMES) {
      for (const times of [1, 2]) {
        await stage.close();
        const themed = new URL(code.url);
        themed.searchParams.set('settings', JSON.stringify({ 'workbench.colorTheme': theme.setting }));
        url = themed.href;
        zoom = times;
        await stage.test(`pictures, ${theme.name} at ${times * 100} %`, async (page) => {
          await page.page.locator(theme.workbench).first().waitFor();
          await page.toEnd();
          await page.waitForSquiggles(FINDING.severity);
          await page.lens(LENS);
          await page.away();
          await picture(`${theme.name}-${times * 100}`);
        });
      }
    }
    await stage.close();
    await newClub(installed, vsix, home, stage, pictures);
    return { passed: stage.passed, failed: stage.failed };
  } finally {
    await stage.close();
    await code.stop();
    rmSync(home, { recursive: true, force: true });
  }
}

/** A new club, in an empty folder of its own; counted on STAGE. */
async function newClub(installed: string, vsix: string, home: string, stage: Stage, pictures: string): Promise<void> {
  const empty = emptyFolder(home);
  const code = await WebWorkbench.start(installed, vsix, empty, path.join(home, 'extension-again'));
  const club = new Stage('in the browser: ', pictures, () => EditorPage.open(installed, code.url));
  try {
    await club.test('a new club is made by a few questions, in an empty folder', (page) => makesClub(page, empty));
  } finally {
    await club.close();
    await code.stop();
    stage.passed += club.passed;
    stage.failed += club.failed;
  }
}

if (process.argv[1] && fileURLToPath(import.meta.url) === path.resolve(process.argv[1])) {
  const root = path.resolve(import.meta.dirname, '../..');
  const installed = path.join(root, '.cache/vscode');
  const vsix = path.resolve(process.argv[2] ?? path.join(root, 'dist/legwise.vsix'));
  if (!existsSync(vsix)) {
    console.error('web: there is no packaged extension; run `npm run package` first');
    process.exit(1);
  }
  install(installed);
  const { passed, failed } = await runInBrowser(
    installed,
    vsix,
    path.join(root, 'samples'),
    path.join(root, '.cache/screenshots'),
  );
  console.log(`${passed} passed, ${failed} failed`);
  process.exit(failed > 0 ? 1 : 0);
}
