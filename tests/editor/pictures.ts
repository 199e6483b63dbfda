// Makes the pictures of the project: the icon from its drawing, and what the README and the walkthrough show, from a real
// VS Code on the samples.
//
//   npm run pictures
//
// Needs what `npm run test:editor` needs. The pictures go to client/media, and are looked at before they are committed.
import { execFileSync } from 'node:child_process';
import { cpSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { FINDING, LENS, PLAN, SELECTORS } from './expectations.ts';
import { EditorPage, until } from './page.ts';
import { install, Workbench } from './workbench.ts';

const root = path.resolve(import.meta.dirname, '../..');
const installed = path.join(root, '.cache/vscode');
const media = path.join(root, 'client/media');

/** What the page of the workbench has, at one and a half times its size: sharp, and not too heavy to be packed. */
const ZOOM = 1.5;

/** A window without what is not ours. */
const BARE = {
  'workbench.colorTheme': 'Dark 2026',
  'workbench.activityBar.location': 'hidden',
  'workbench.layoutControl.enabled': false,
  'workbench.editor.showTabs': 'single',
  'window.commandCenter': false,
  'window.menuBarVisibility': 'hidden',
  'breadcrumbs.enabled': false,
  'editor.minimap.enabled': false,
  'editor.scrollbar.vertical': 'hidden',
  'editor.overviewRulerBorder': false,
  'editor.hideCursorInOverviewRuler': true,
  'editor.cursorBlinking': 'solid',
};

const sleep = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

interface Browser {
  newPage(options: object): Promise<{
    setContent(html: string): Promise<void>;
    screenshot(options: object): Promise<unknown>;
  }>;
  close(): Promise<void>;
}

/** The icon as pixels: the gallery takes no drawing. */
async function icon(): Promise<void> {
  const { chromium } = createRequire(path.join(installed, 'package.json'))('playwright-core') as {
    chromium: { launch(options: object): Promise<Browser> };
  };
  const executablePath = process.env.CHROMIUM ?? '/usr/bin/chromium';
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox', '--disable-gpu'] });
  try {
    const page = await browser.newPage({ viewport: { width: 256, height: 256 } });
    const drawing = readFileSync(path.join(media, 'icon.svg'), 'utf8');
    await page.setContent(`<style>body{margin:0}svg{display:block}</style>${drawing}`);
    await page.screenshot({ path: path.join(media, 'icon.png'), omitBackground: true });
  } finally {
    await browser.close();
  }
}

/** Takes a row by the keyboard: a tip under the mouse may lie over it. */
async function row(page: EditorPage, text: string): Promise<void> {
  await page.page.mouse.move(1, 300, { steps: 2 }); // away from where tips would show
  await sleep(500);
  await page.page.locator(SELECTORS.quickInput).first().fill(text);
  await until(
    `a row ${text}`,
    async () => (await page.page.locator(SELECTORS.quickRow, { hasText: text }).count()) > 0,
  );
  await page.page.keyboard.press('Enter');
  await sleep(500);
}

async function answer(page: EditorPage, text: string): Promise<void> {
  await page.page.locator(SELECTORS.quickInput).first().fill(text);
  await sleep(800); // the server looks at it
  await page.page.keyboard.press('Enter');
  await sleep(500);
}

/** Each picture by its name: how the window comes to show it. */
const PICTURES: readonly {
  name: string;
  show(page: EditorPage): Promise<void>;
}[] = [
  {
    name: 'plan',
    async show(page) {
      await page.command('Legwise: New plan');
      await row(page, 'Larkfield');
      await answer(page, '3200 ft MSL');
      await row(page, 'Withy Bridge');
      await until(
        'the next turnpoint',
        async () => (await page.page.locator('.quick-input-title', { hasText: 'turnpoint 2' }).count()) > 0,
      );
    },
  },
  {
    name: 'heights',
    async show(page) {
      await page.toEnd();
      await page.lens(LENS);
      await sleep(2500); // the hints
      await page.away();
    },
  },
  {
    name: 'finding',
    async show(page) {
      await page.toEnd();
      await page.hoverSquiggle(FINDING.severity, FINDING.hover);
    },
  },
  {
    name: 'flight',
    async show(page) {
      await page.toEnd();
      await page.command('Legwise: Open the flight view');
      await page.webview(/Larkfield/);
      await sleep(1500);
      await page.away();
    },
  },
  {
    name: 'sheet',
    async show(page) {
      await page.toEnd();
      await page.command('Legwise: Show the briefing sheet');
      await page.webview(/Late Home/);
      await sleep(1500);
      await page.away();
    },
  },
];

const TRIES = 3;

/** One picture, in a window of its own: nothing is left in it by another. */
async function picture(url: string, show: (page: EditorPage) => Promise<void>, file: string): Promise<void> {
  const page = await EditorPage.open(installed, url, PLAN, ZOOM);
  try {
    await page.toEnd();
    await page.waitForSquiggles(FINDING.severity);
    await page.page.keyboard.press('Control+B'); // the side bar goes
    await show(page);
    await page.screenshot(file);
  } finally {
    await page.close();
  }
}

const asked = process.argv.slice(2);
const wanted = PICTURES.filter(({ name }) => asked.length === 0 || asked.includes(name));

install(installed);
await icon();
execFileSync('npm', ['run', '--silent', 'package'], { cwd: root, stdio: ['ignore', 'ignore', 'inherit'] });
const home = mkdtempSync(path.join(tmpdir(), 'samples-'));
const folder = path.join(home, 'club');
cpSync(path.join(root, 'samples'), folder, { recursive: true });
const code = new Workbench(installed);
let failed = 0;
try {
  code.installExtension(path.join(root, 'dist/legwise.vsix'));
  const url = await code.start(folder);
  code.settings(BARE);
  for (const { name, show } of wanted) {
    const file = path.join(media, `${name}.png`);
    // A busy machine may be too slow once; a picture is worth another try.
    for (let tries = 1; ; tries++) {
      try {
        await picture(url, show, file);
        console.log(path.relative(root, file));
        break;
      } catch (error) {
        console.log(`${tries < TRIES ? 'again' : 'FAIL'}: ${name}: ${String(error)}`);
        if (tries < TRIES) continue;
        failed++;
        break;
      }
    }
  }
} finally {
  await code.stop();
  rmSync(home, { recursive: true, force: true });
}
process.exit(failed > 0 ? 1 : 0);
