// The extension as a user gets it (packaged, installed) in a real VS Code, driven through a real browser.
//
//   npm run test:editor
//
// Needs Linux, a system Chromium (or CHROMIUM=path) and, the first time, the npm registry: VS Code goes to .cache/vscode.
import { execFileSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { DIED, FINDING, ITINERARY, LENS, MISTAKE, PAGE, PLAN, SELECTORS, THEMES } from './expectations.ts';
import { EditorPage, until } from './page.ts';
import { appliesFix, completesTurnpoint, measuresKeystrokes, renamesField, seesHints } from './pilot.ts';
import { clicksLeg, closesView, measuresView, movesWind, printsBrief } from './views.ts';
import { runInBrowser } from './web.ts';
import { install, Workbench } from './workbench.ts';

const root = path.resolve(import.meta.dirname, '../..');
const installed = path.join(root, '.cache/vscode');
const pictures = path.join(root, '.cache/screenshots');
const LIMIT = 25 * 60_000;

let passed = 0;
let failed = 0;
let page: EditorPage | undefined;

async function test(name: string, body: (page: EditorPage) => Promise<void>): Promise<void> {
  const start = performance.now();
  try {
    if (!page) throw new Error('no editor is open');
    await body(page);
    passed++;
    console.log(`ok    ${name} (${((performance.now() - start) / 1000).toFixed(1)} s)`);
  } catch (error) {
    failed++;
    console.log(`FAIL  ${name}\n      ${String(error).replaceAll('\n', '\n      ')}`);
    await page?.screenshot(path.join(pictures, `failed-${failed}.png`)).catch(() => undefined);
  }
  await page?.away().catch(() => undefined);
}

/** Sorted times in a few figures. */
function shares(times: readonly number[]): string {
  const at = (share: number) => `${(times[Math.ceil(share * times.length) - 1] ?? Number.NaN).toFixed(0)} ms`;
  return `p50 ${at(0.5)}, p95 ${at(0.95)}, worst ${at(1)} of ${times.length}`;
}

// The tests type into the plan: never into the repository's own.
const home = mkdtempSync(path.join(tmpdir(), 'samples-'));
let workbench: Workbench | undefined;

async function cleanUp(): Promise<void> {
  await page?.close().catch(() => undefined);
  await workbench?.stop();
  rmSync(home, { recursive: true, force: true });
}
let givenUp = false;
async function giveUp(why: string): Promise<void> {
  if (givenUp) return; // a signal can come twice: from the terminal and from npm
  givenUp = true;
  console.log(`FAIL  ${why}`);
  await cleanUp();
  console.log(`\n${passed} passed, ${failed + 1} failed`);
  process.exit(1);
}
setTimeout(() => void giveUp(`not done after ${LIMIT / 60_000} minutes`), LIMIT).unref();
for (const signal of ['SIGINT', 'SIGTERM'] as const) process.on(signal, () => void giveUp(`ended by ${signal}`));

try {
  rmSync(pictures, { recursive: true, force: true });
  mkdirSync(pictures, { recursive: true });
  install(installed);
  execFileSync('npm', ['run', '--silent', 'package'], { cwd: root, stdio: ['ignore', 'ignore', 'inherit'] });
  const folder = path.join(home, 'club');
  cpSync(path.join(root, 'samples'), folder, { recursive: true });
  if (!existsSync(path.join(folder, PLAN))) throw new Error(`there is no samples/${PLAN}`);

  const code = new Workbench(installed);
  workbench = code;
  code.installExtension(path.join(root, 'dist/legwise.vsix'));
  const url = await code.start(folder);
  page = await EditorPage.open(installed, url, PLAN);

  await test('the finding is underlined', async (page) => {
    await page.waitForSquiggles(FINDING.severity);
  });
  if (failed > 0) throw new Error('without the finding, nothing of what follows can be seen');
  await test('a hover over it says what is wrong', async (page) => {
    await page.hoverSquiggle(FINDING.severity, FINDING.hover);
  });
  await test('a lens stands above the plan', async (page) => {
    await page.lens(LENS);
  });
  await test('a hover over the itinerary says which height is required', async (page) => {
    await page.hoverToken(ITINERARY.token, ITINERARY.hover);
  });
  await test('numbers stand behind the lines of the itinerary', seesHints);
  await test('half a name is completed, quotes and all', completesTurnpoint);
  await test('a fix takes the finding away, and undo brings it back', appliesFix);
  await test('a field is renamed in the plan and in the file that defines it', (page) => renamesField(page, folder));
  await test('from key to squiggle', async (page) => {
    const times = await measuresKeystrokes(page, 20);
    console.log(`      from key to squiggle: ${shares(times)}`);
  });
  const picture = (name: string) => page?.screenshot(path.join(pictures, `${name}.png`)) ?? Promise.resolve();
  await test('a click on a leg of the flight view selects its line', async (page) => {
    await clicksLeg(page);
    await closesView(page);
  });
  await test('from key to flight view', async (page) => {
    const times = await measuresView(page, 10);
    console.log(`      from key to flight view: ${shares(times)}`);
    await closesView(page);
  });
  await test('a wind moved in the what-if is written into the plan, and one undo takes it back', async (page) => {
    await movesWind(page, picture);
    await closesView(page);
  });
  await test('the sheet stands beside the text, and is printed', async (page) => {
    await printsBrief(page);
    await closesView(page);
  });
  await test('a mistake is underlined while it is typed, and undo takes it away', async (page) => {
    const before = await page.squiggles(MISTAKE.severity);
    await page.typeAtEnd(MISTAKE.text);
    await until('one more squiggle', async () => (await page.squiggles(MISTAKE.severity)) > before);
    await until('no squiggle after undo', async () => {
      if (await page.editor.locator(SELECTORS.line, { hasText: MISTAKE.text.split(' ')[0] ?? '' }).count())
        await page.undo();
      return (await page.squiggles(MISTAKE.severity)) === before;
    });
  });
  await test("the finding's code leads to the page of its rule", async (page) => {
    await page.hoverSquiggle(FINDING.severity, FINDING.hover);
    await page.page.locator(`${SELECTORS.hover} a`, { hasText: FINDING.code }).first().click({ timeout: 5000 });
    await page.page.locator(SELECTORS.activeTab, { hasText: PAGE.tab }).waitFor();
    await page.webview(PAGE.text);
    await page.screenshot(path.join(pictures, 'page.png'));
    await page.command('View: Close Editor');
    await page.page.locator(SELECTORS.activeTab, { hasText: path.basename(PLAN) }).waitFor();
  });
  await test('a server that is killed comes back, and its findings with it', async (page) => {
    const before = await page.squiggles(FINDING.severity);
    const first = await until('the language server', async () => code.languageServer());
    process.kill(first, 'SIGKILL');
    await page.page.locator(SELECTORS.notification, { hasText: DIED }).waitFor();
    await until('another language server', async () => {
      const now = code.languageServer();
      return now !== undefined && now !== first;
    });
    await page.waitForSquiggles(FINDING.severity, before);
    await page.hoverToken(ITINERARY.token, ITINERARY.hover);
  });
  await test('the server restarts when asked', async (page) => {
    const first = await until('the language server', async () => code.languageServer());
    await page.command('Legwise: Restart the language server');
    await until('another language server', async () => {
      const now = code.languageServer();
      return now !== undefined && now !== first;
    });
    await page.waitForSquiggles(FINDING.severity);
  });

  for (const theme of THEMES) {
    // The theme is read when the workbench opens.
    code.settings({ 'workbench.colorTheme': theme.setting });
    for (const zoom of [1, 2]) {
      await page.close();
      page = await EditorPage.open(installed, url, PLAN, zoom);
      await test(`pictures, ${theme.name} at ${zoom * 100} %`, async (page) => {
        await page.page.locator(theme.workbench).first().waitFor();
        await page.toEnd();
        await page.waitForSquiggles(FINDING.severity);
        await page.lens(LENS);
        await page.away();
        const file = path.join(pictures, `${theme.name}-${zoom * 100}`);
        await page.screenshot(`${file}.png`);
        await page.hoverSquiggle(FINDING.severity, FINDING.hover);
        await page.screenshot(`${file}-finding.png`);
        await page.hoverToken(ITINERARY.token, ITINERARY.hover);
        await page.screenshot(`${file}-itinerary.png`);
      });
    }
  }
} catch (error) {
  if (givenUp) await new Promise(() => undefined); // what was awaited ended with the browser: giveUp() has the last word
  failed++;
  console.log(`FAIL  ${String(error)}`);
}
await cleanUp();
const web = await runInBrowser(installed, path.join(root, 'dist/legwise.vsix'), path.join(root, 'samples'), pictures);
passed += web.passed;
failed += web.failed;
console.log(`\nscreenshots: ${path.relative(process.cwd(), pictures)}`);
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed > 0 ? 1 : 0);
