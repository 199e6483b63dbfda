// The packaged extension in a browser with no server behind it: its language server is a web worker, and the club's
// files are those of a file system that only the page knows.
//
//   node tests/editor/web.ts      alone, with the extension packed by `npm run package`
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { DIED, FINDING, ITINERARY, LENS, MISTAKE, PAGE, PLAN, SELECTORS, THEMES } from './expectations.ts';
import { EditorPage, until } from './page.ts';
import { appliesFix, completesTurnpoint, renamesField, seesHints } from './pilot.ts';
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
  let passed = 0;
  let failed = 0;
  const home = mkdtempSync(path.join(tmpdir(), 'web-'));
  const folder = path.join(home, 'club');
  cpSync(samples, folder, { recursive: true });
  mkdirSync(pictures, { recursive: true });
  let page: EditorPage | undefined;
  const test = async (name: string, body: (page: EditorPage) => Promise<void>): Promise<void> => {
    const start = performance.now();
    try {
      if (!page) throw new Error('no editor is open');
      await body(page);
      passed++;
      console.log(`ok    in the browser: ${name} (${((performance.now() - start) / 1000).toFixed(1)} s)`);
    } catch (error) {
      failed++;
      console.log(`FAIL  in the browser: ${name}\n      ${String(error).replaceAll('\n', '\n      ')}`);
      await page?.screenshot(path.join(pictures, `web-failed-${failed}.png`)).catch(() => undefined);
    }
    await page?.away().catch(() => undefined);
  };
  const code = await WebWorkbench.start(installed, vsix, folder, path.join(home, 'extension'));
  try {
    page = await EditorPage.open(installed, code.url, PLAN);
    await test('the finding is underlined', async (page) => {
      await page.toEnd();
      await page.waitForSquiggles(FINDING.severity);
    });
    if (failed > 0) throw new Error('without the finding, nothing of what follows can be seen');
    await test('a hover over it says what is wrong', async (page) => {
      await page.hoverSquiggle(FINDING.severity, FINDING.hover);
    });
    await test('a lens stands above the plan', async (page) => {
      await page.lens(LENS);
    });
    await test('numbers stand behind the itinerary', seesHints);
    await test('a hover over the itinerary says which height is required', async (page) => {
      await page.hoverToken(ITINERARY.token, ITINERARY.hover);
    });
    await test('plans that nobody has open are checked', async (page) => {
      await page.command('View: Focus Problems (Errors, Warnings, Infos)');
      await until('findings of another plan', async () =>
        (await page.page.locator('.markers-panel').allInnerTexts()).some((text) =>
          /taskplan/.test(text.replace(PLAN, '')),
        ),
      );
      await page.screenshot(path.join(pictures, 'web-problems.png'));
      await page.command('View: Toggle Panel Visibility');
    });
    await test('a turnpoint is completed', completesTurnpoint);
    await test('a fix is applied and undone', appliesFix);
    await test('a field is renamed in every file', (page) => renamesField(page, folder));
    await test('a plan is formatted', async (page) => {
      await page.typeAtEnd(UNTIDY.typed);
      await page.shows(/tidy {3}me/);
      await page.command(UNTIDY.row);
      await page.shows(UNTIDY.tidy);
      await until('the plan as it was', async () => {
        if ((await page.page.locator(SELECTORS.dirty).count()) === 0) return true;
        await page.undo();
        return false;
      });
    });
    await test('a mistake is underlined while it is typed', async (page) => {
      const before = await page.squiggles(MISTAKE.severity);
      await page.typeAtEnd(MISTAKE.text);
      await until('one more squiggle', async () => (await page.squiggles(MISTAKE.severity)) > before);
      await until('no squiggle after undo', async () => {
        if (await page.page.locator(SELECTORS.dirty).count()) await page.undo();
        return (await page.squiggles(MISTAKE.severity)) === before;
      });
    });
    await test("the finding's code leads to the page of its rule", async (page) => {
      await page.hoverSquiggle(FINDING.severity, FINDING.hover);
      await page.page.locator(`${SELECTORS.hover} a`, { hasText: FINDING.code }).first().click({ timeout: 5000 });
      await page.page.locator(SELECTORS.activeTab, { hasText: PAGE.tab }).waitFor();
      await page.screenshot(path.join(pictures, 'web-page.png'));
      await page.command('View: Close Editor');
      await page.page.locator(SELECTORS.activeTab, { hasText: path.basename(PLAN) }).waitFor();
    });
    await test('a worker that ends comes back, and its findings with it', (page) => comesBack(page, 'self.close()'));
    await test('a worker that hangs comes back, and its findings with it', (page) => comesBack(page, 'for (;;);'));
    await test('nothing was written into the plan', async () => {
      const text = readFileSync(path.join(folder, PLAN), 'utf8');
      if (text !== readFileSync(path.join(samples, PLAN), 'utf8')) throw new Error(`the plan is now\n${text}`);
    });
    for (const theme of THEMES) {
      for (const zoom of [1, 2]) {
        await page.close();
        const themed = new URL(code.url);
        themed.searchParams.set('settings', JSON.stringify({ 'workbench.colorTheme': theme.setting }));
        page = await EditorPage.open(installed, themed.href, PLAN, zoom);
        await test(`pictures, ${theme.name} at ${zoom * 100} %`, async (page) => {
          await page.page.locator(theme.workbench).first().waitFor();
          await page.toEnd();
          await page.waitForSquiggles(FINDING.severity);
          await page.lens(LENS);
          await page.away();
          await page.screenshot(path.join(pictures, `web-${theme.name}-${zoom * 100}.png`));
        });
      }
    }
  } catch (error) {
    failed++;
    console.log(`FAIL  in the browser: ${String(error)}`);
  } finally {
    await page?.close().catch(() => undefined);
    await code.stop();
    rmSync(home, { recursive: true, force: true });
  }
  return { passed, failed };
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
