// Drives the workbench in the system's Chromium, as a user would: keys, mouse, and what is on the screen.
import { mkdtempSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { PLAN, SELECTORS } from './expectations.ts';

/** The little of playwright-core that is used here; the package is no dependency, so its types are not at hand. */
interface Box {
  x: number;
  y: number;
  width: number;
  height: number;
}
export interface Locator {
  first(): Locator;
  locator(selector: string, options?: { hasText?: string | RegExp }): Locator;
  last(): Locator;
  nth(index: number): Locator;
  count(): Promise<number>;
  press(keys: string): Promise<void>;
  evaluate<T>(run: (element: HTMLElement) => T): Promise<T>;
  allInnerTexts(): Promise<string[]>;
  boundingBox(): Promise<Box | null>;
  click(options?: { timeout?: number }): Promise<void>;
  fill(text: string, options?: { timeout?: number }): Promise<void>;
  waitFor(options?: { state?: 'attached' | 'visible' | 'hidden'; timeout?: number }): Promise<void>;
}
export interface Page {
  keyboard: { press(keys: string): Promise<void>; type(text: string): Promise<void> };
  mouse: { move(x: number, y: number, options?: { steps?: number }): Promise<void> };
  frames(): Frame[];
  evaluate<T, A>(run: (argument: A) => T | Promise<T>, argument: A): Promise<T>;
  goto(url: string): Promise<unknown>;
  locator(selector: string, options?: { hasText?: string | RegExp }): Locator;
  screenshot(options: { path: string }): Promise<unknown>;
  setViewportSize(size: { width: number; height: number }): Promise<void>;
  setDefaultTimeout(ms: number): void;
}
export interface Frame {
  locator(selector: string, options?: { hasText?: string | RegExp }): Locator;
  evaluate<T, A>(run: (argument: A) => T | Promise<T>, argument: A): Promise<T>;
  getByLabel(label: string | RegExp, options?: { exact?: boolean }): Locator;
  content(): Promise<string>;
  url(): string;
}
/** A page without a workbench. */
export interface PlainPage {
  setContent(html: string): Promise<void>;
  evaluate(script: string): Promise<unknown>;
  close(): Promise<void>;
}
interface Context {
  pages(): Page[];
  newPage(): Promise<Page>;
  close(): Promise<void>;
}
interface Playwright {
  chromium: { launchPersistentContext(profile: string, options: object): Promise<Context> };
}

const WINDOW = { width: 1440, height: 900 };
const STEP = 90_000;
/** Lines of the text in an error. */
const SHOWN = 8;
/** What a busy machine may take for one key or click in the palette. */
const CLICK = 15_000;
const CHROMIUM = process.env.CHROMIUM ?? '/usr/bin/chromium';
// Where it runs in a container, /dev/shm may be too small for its pages.
const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-dev-shm-usage'];
// The test machine may have no network; a browser that looks for one anyway only slows down.
const QUIET = ['--disable-background-networking', '--disable-component-update', '--disable-sync'];

const sleep = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

/** Waits until `probe` returns something; the error says what was waited for and what there was instead. */
export async function until<T>(what: string, probe: () => Promise<T | undefined | false>, ms = STEP): Promise<T> {
  const end = Date.now() + ms;
  let last = '';
  for (;;) {
    try {
      const value = await probe();
      if (value !== undefined && value !== false) return value;
    } catch (error) {
      last = `: ${String(error)}`;
    }
    if (Date.now() > end) throw new Error(`waited ${ms / 1000} s for ${what}${last}`);
    await sleep(100);
  }
}

/** A text that is TEXT and nothing more. */
export const whole = (text: string) => new RegExp(`^\\s*${text.replace(/[\\^$.*+?()[\]{}|]/g, '\\$&')}$`);

export class EditorPage {
  readonly page: Page;
  readonly #context: Context;
  readonly #profile: string;
  readonly #zoom: number;

  private constructor(page: Page, context: Context, profile: string, zoom: number) {
    this.page = page;
    this.#context = context;
    this.#profile = profile;
    this.#zoom = zoom;
  }

  /**
   * Opens FILE of the folder that URL serves, or the folder alone. A zoom of 2 does what the browser's own zoom of 200 % does: half as many
   * CSS pixels in the same window, each twice as large.
   */
  static async open(installed: string, url: string, file?: string, zoom = 1): Promise<EditorPage> {
    const { chromium } = createRequire(path.join(installed, 'package.json'))('playwright-core') as Playwright;
    const profile = mkdtempSync(path.join(tmpdir(), 'chromium-'));
    const context = await chromium.launchPersistentContext(profile, {
      executablePath: CHROMIUM,
      headless: true,
      viewport: { width: WINDOW.width / zoom, height: WINDOW.height / zoom },
      deviceScaleFactor: zoom,
      args: [...FLAGS, ...QUIET],
    });
    const page = context.pages()[0] ?? (await context.newPage());
    const editor = new EditorPage(page, context, profile, zoom);
    try {
      page.setDefaultTimeout(STEP);
      const target = new URL(url);
      const folder = target.searchParams.get('folder') ?? '';
      if (file !== undefined) {
        const open = ['openFile', `vscode-remote://${target.host}${folder}/${file}`];
        target.searchParams.set('payload', JSON.stringify([open]));
      }
      await page.goto(target.href);
      await page.locator(SELECTORS.ready).first().waitFor();
      if (file !== undefined) await editor.editor.locator(SELECTORS.line).first().waitFor();
      return editor;
    } catch (error) {
      await editor.close();
      throw error;
    }
  }

  async close(): Promise<void> {
    await this.#context.close();
    rmSync(this.#profile, { recursive: true, force: true });
  }

  /** A window so many times as high as usual: all of a view is then seen at once. */
  async higher(times: number): Promise<void> {
    const [width, height] = [WINDOW.width / this.#zoom, WINDOW.height / this.#zoom];
    await this.page.setViewportSize({ width, height: height * times });
    await sleep(700); // views draw anew in their next frames
  }

  /** What is there beside the plan alone as it is on the disk, in words. */
  async left(): Promise<string | undefined> {
    let seen: string | undefined;
    for (let i = 0; i < 20; i++) {
      const tabs = (await this.page.locator(SELECTORS.tab).allInnerTexts()).map((tab) => tab.replace(/\s+/g, ''));
      if (tabs.length !== 1 || !tabs[0]?.startsWith(path.basename(PLAN)))
        seen = `open: ${tabs.join(', ') || 'nothing'}`;
      else if (await this.page.locator(SELECTORS.dirty).count()) seen = 'a plan that is not saved';
      else if (!(await this.page.locator('.monaco-workbench.nopanel').count())) seen = 'a panel';
      else return undefined;
      await sleep(100);
    }
    return seen;
  }

  /** Shows HTML in a page of its own, without a workbench and with no script of its own. */
  async plain<T>(html: string, look: (page: PlainPage) => Promise<T>): Promise<T> {
    const page = (await this.#context.newPage()) as unknown as PlainPage;
    try {
      await page.setContent(html);
      return await look(page);
    } finally {
      await page.close();
    }
  }

  get editor(): Locator {
    return this.page.locator(SELECTORS.editor).first();
  }

  squiggles(severity: string): Promise<number> {
    return this.editor.locator(SELECTORS.squiggle(severity)).count();
  }

  /** Waits until there are as many squiggles as asked (a number, or at least one). */
  waitForSquiggles(severity: string, count?: number): Promise<number> {
    return until(`${count ?? 'any'} squiggles (${severity})`, async () => {
      const found = await this.squiggles(severity);
      return (count === undefined ? found > 0 : found === count) ? found : undefined;
    });
  }

  lens(text: RegExp): Promise<string> {
    return until(`a lens ${text}`, async () =>
      (await this.editor.locator(SELECTORS.lens).allInnerTexts()).find((lens) => text.test(lens)),
    );
  }

  /** Rests the mouse on the middle of a place until a hover shows TEXT; returns all that the hovers say. */
  async hover(place: Locator, text: RegExp): Promise<string> {
    let seen = '';
    const look = async () => {
      seen = (await this.page.locator(SELECTORS.hover).allInnerTexts()).join('\n');
      return text.test(seen);
    };
    return await until(`a hover ${text}`, async () => {
      await this.away();
      // While another hover shows, the mouse may be on its way to that one.
      for (let i = 0; i < 20 && (await this.page.locator(SELECTORS.hover).count()) > 0; i++) await sleep(100);
      const box = await place.boundingBox();
      if (!box) return undefined;
      await this.page.mouse.move(box.x + box.width / 2, box.y + box.height / 2, { steps: 4 });
      for (let i = 1; i <= 50; i++) {
        await sleep(100);
        // A busy editor may still show what lay on the way here.
        if (i % 15 === 0) await this.page.mouse.move(box.x + box.width / 2 + (i % 2), box.y + box.height / 2);
        if (!(await look())) continue;
        await sleep(400); // it fades in, and findings that come just then take it away again
        if (await look()) return seen;
      }
      return undefined;
    }).catch((error: unknown) => {
      throw new Error(`${String(error)}; the last hover said ${JSON.stringify(seen)}`);
    });
  }

  hoverSquiggle(severity: string, text: RegExp): Promise<string> {
    return this.hover(this.editor.locator(SELECTORS.squiggle(severity)).first(), text);
  }

  hoverToken(token: string | RegExp, text: RegExp): Promise<string> {
    return this.hover(this.editor.locator(`${SELECTORS.line} span span`, { hasText: token }).first(), text);
  }

  /** Takes the mouse off the text, so that no hover shows. */
  async away(): Promise<void> {
    await this.page.mouse.move(WINDOW.width / 4, 1);
    await this.page.keyboard.press('Escape');
  }

  /** Goes to the end of the plan, where its leg home is: only lines on the screen have squiggles to be seen. */
  async toEnd(): Promise<void> {
    await this.focus();
    await this.page.keyboard.press('Control+End');
  }

  /** Types TEXT on a new line at the end. */
  async typeAtEnd(text: string): Promise<void> {
    await this.toEnd();
    await this.page.keyboard.press('Enter');
    await this.page.keyboard.type(text);
  }

  async focus(): Promise<void> {
    await this.command('View: Focus Active Editor Group');
  }

  /** Puts the caret behind the first match of TEXT, by the editor's own search. */
  async caretBehind(text: string): Promise<void> {
    await this.focus();
    await this.page.keyboard.press('Control+Home');
    await this.page.keyboard.press('Control+F');
    await this.page.locator(SELECTORS.find).first().fill(text);
    await this.page.keyboard.press('Enter');
    await this.page.keyboard.press('Escape'); // the match stays selected
    await this.page.keyboard.press('ArrowRight');
  }

  /** Waits until the text of the editor on the screen matches. */
  shows(text: RegExp, ms?: number): Promise<string> {
    let seen = '';
    return until(
      `the text ${text}`,
      async () => {
        // Spaces in the workbench's lines are hard ones.
        seen = (await this.editor.locator(SELECTORS.line).allInnerTexts()).join('\n').replaceAll('\u00a0', ' ');
        return text.test(seen) ? seen : undefined;
      },
      ms,
    ).catch((error: unknown) => {
      // What is asked for stands at the end more often than not, and logs are cut.
      throw new Error(`${String(error)}; there was, at its end,\n${seen.split('\n').slice(-SHOWN).join('\n')}`);
    });
  }

  undo(): Promise<void> {
    return this.page.keyboard.press('Control+Z');
  }

  /** Runs a command by its whole title, category and all: the palette lists others that begin alike, used ones first. */
  async command(title: string): Promise<void> {
    const input = this.page.locator(SELECTORS.quickInput).first();
    const row = this.page.locator(`${SELECTORS.quickRow} ${SELECTORS.rowLabel}`, { hasText: whole(title) }).first();
    // The palette closes when something else takes the keyboard, as a view that has just opened may.
    await until(`the command ${title}`, async () => {
      await this.page.keyboard.press('F1');
      await input.waitFor({ timeout: CLICK });
      await input.fill(`>${title}`, { timeout: CLICK });
      try {
        await row.click({ timeout: CLICK });
      } catch (error) {
        // The list is of when it was opened: commands of extensions may have come since.
        await this.page.keyboard.press('Escape');
        throw error;
      }
      // Where the row was is text again, which would tell of itself.
      await this.page.mouse.move(WINDOW.width / 4, 1);
      return true;
    });
  }

  /** Waits for TEXT in a web view, such as the preview of a Markdown page. */
  webview(text: RegExp): Promise<string> {
    return until(`a web view with ${text}`, () => this.#inWebview(text));
  }

  /** Waits for TEXT in a web view or, where nothing makes one of a Markdown page, in the editor. */
  pageWith(text: RegExp): Promise<string> {
    return until(`a page with ${text}`, async () => {
      const said = (await this.editor.locator(SELECTORS.line).allInnerTexts()).join('\n');
      return text.test(said) ? said : this.#inWebview(text);
    });
  }

  async #inWebview(text: RegExp): Promise<string | undefined> {
    for (const frame of this.page.frames().slice(1)) {
      const said = (await frame.locator('body').allInnerTexts()).join('\n');
      if (text.test(said)) return said;
    }
    return undefined;
  }

  screenshot(file: string): Promise<unknown> {
    return this.page.screenshot({ path: file });
  }
}
