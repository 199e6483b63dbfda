// The views beside the text: the flight view with its what-if, and the sheet. Each step leaves the plan as it found it.
import { existsSync, readFileSync, rmSync, statSync } from 'node:fs';
import path from 'node:path';
import { SELECTORS, VIEWS } from './expectations.ts';
import { type EditorPage, type Frame, until } from './page.ts';
import { undoes } from './pilot.ts';
import { seriousIn } from './view-axe.ts';

/** The frame of a web view that holds SELECTOR. */
function frameWith(page: EditorPage, selector: string): Promise<Frame> {
  return until(`a view with ${selector}`, async () => {
    for (const frame of page.page.frames()) {
      if (
        await frame
          .locator(selector)
          .count()
          .catch(() => 0)
      )
        return frame;
    }
    return undefined;
  });
}

const textOf = async (frame: Frame, selector: string) => (await frame.locator(selector).allInnerTexts()).join('\n');

/** Nothing that an accessibility checker calls serious. */
export async function isAccessible(frame: Frame): Promise<void> {
  const found = await seriousIn(frame as unknown as Parameters<typeof seriousIn>[0]);
  if (found.length > 0) throw new Error(found.join('\n'));
}

/** From a view back to the text: by the mouse, as keys pressed in a view are its own. */
function toText(page: EditorPage): Promise<void> {
  return page.page.locator('.tabs-container .tab', { hasText: VIEWS.tab }).first().click();
}

/** Closes the view again, so that the text is alone. */
export async function closesView(page: EditorPage): Promise<void> {
  await toText(page);
  await page.command('View: Close Editors in Other Groups');
  await page.page.locator('iframe.webview.ready').first().waitFor({ state: 'hidden' });
}

/** The flight view beside the text, with its drawings. */
export async function opensFlightView(page: EditorPage): Promise<Frame> {
  await page.toEnd();
  await page.command(VIEWS.flight.command);
  const frame = await frameWith(page, '#flight svg');
  await until(`a view of ${VIEWS.flight.text}`, async () => VIEWS.flight.text.test(await textOf(frame, '#flight')));
  return frame;
}

/** The what-if in the open flight view, with more wind, not written. */
export async function opensWhatIf(page: EditorPage): Promise<Frame> {
  await page.command(VIEWS.whatIf.command);
  const frame = await frameWith(page, '.what-if .controls fieldset');
  await frame.getByLabel(VIEWS.whatIf.wind, { exact: true }).first().fill(VIEWS.whatIf.times);
  await until('the what-if answered', async () => VIEWS.whatIf.on.test(await textOf(frame, '.what-if .state')));
  await until('the drawing says so', async () => VIEWS.whatIf.on.test(await textOf(frame, '#flight')));
  return frame;
}

/** Nothing reaches over the right edge: what is wider scrolls in a place of its own. */
export async function reflows(frame: Frame): Promise<void> {
  const wide = await frame.evaluate(() => {
    const most = document.documentElement.clientWidth;
    const scrolls = (one: Element | null): boolean =>
      one !== null && (/auto|scroll|hidden|clip/.test(getComputedStyle(one).overflowX) || scrolls(one.parentElement));
    return [...document.body.querySelectorAll('*')]
      .filter((one) => one.getBoundingClientRect().right > most + 1 && !scrolls(one.parentElement))
      .map((one) => `${one.tagName} ${one.className} ${one.textContent?.slice(0, 40)}`);
  }, undefined);
  if (wide.length > 0) throw new Error(`cut off on the right: ${wide.join('; ')}`);
}

/**
 * The sheet's page runs no script, so no checker runs in it: the page as the editor shows it is looked at in a page of
 * its own.
 */
export async function sheetIsAccessible(page: EditorPage): Promise<void> {
  // The sheet comes anew with what it rests on, in another frame.
  const html = await until('the sheet as a page', async () => {
    const content = await (await frameWith(page, 'nav.legwise')).content();
    return content.includes('class="legwise"') && content;
  });
  const found = await page.plain(html, (plain) => seriousIn(plain));
  if (found.length > 0) throw new Error(found.join('\n'));
}

/** A click on a leg selects its line in the text. */
export async function clicksLeg(page: EditorPage): Promise<void> {
  const frame = await opensFlightView(page);
  await isAccessible(frame);
  await frame.locator('#flight table button', { hasText: VIEWS.leg.row }).first().click();
  await until('the line of the leg selected', async () =>
    (await page.page.locator('.active-line-number').allInnerTexts()).includes(VIEWS.leg.line),
  );
}

/** The numbers at the pointer and at the place that the arrow keys move; Enter there selects the line of its leg. */
export async function pointsAtPlaces(page: EditorPage): Promise<void> {
  const frame = await opensFlightView(page);
  const side = frame.locator('#flight .side .paper').first();
  const said = () => side.evaluate((one) => one.getAttribute('aria-valuetext') ?? '');
  const says = (what: string, other: string) =>
    until(what, async () => {
      const now = await said();
      return now !== other && VIEWS.place.numbers.test(now) && now;
    });
  const box = await side.boundingBox();
  if (!box) throw new Error('the side view is not drawn');
  const seen = [await said()];
  for (const share of [0.3, 0.6]) {
    await page.page.mouse.move(box.x + box.width * share, box.y + box.height / 2, { steps: 3 });
    seen.push(await says(`the numbers at ${share} of the side view`, seen.at(-1) ?? ''));
  }
  await page.away();
  await side.evaluate((one) => one.focus());
  for (const key of ['Home', 'ArrowRight', 'PageDown']) {
    await side.press(key);
    seen.push(await says(`other numbers after ${key}`, seen.at(-1) ?? ''));
  }
  if (!VIEWS.place.second.test(seen.at(-1) ?? '')) throw new Error(`Home and PageDown led to ${seen.at(-1)}`);
  await side.press('Enter');
  await until('the line of the leg selected', async () =>
    (await page.page.locator('.active-line-number').allInnerTexts()).includes(VIEWS.leg.line),
  );
}

/** Times from a key pressed, ms: to other squiggles, and to the flight view drawn anew. */
export interface KeyTimes {
  readonly squiggle: number;
  readonly view: number;
}

/** The times of keys that change both a finding and the drawing. */
export async function measuresView(page: EditorPage, pairs: number): Promise<KeyTimes[]> {
  const frame = await opensFlightView(page);
  await page.caretBehind(VIEWS.height.before);
  await page.page.keyboard.press('ArrowLeft');
  const times: KeyTimes[] = [];
  const settle = () => new Promise((resolve) => setTimeout(resolve, 500));
  await settle();
  type World = { seen?: Promise<number>; pressed?: number };
  /** When it is seen, in ms of the clock; null when it is not within 10 s. */
  const when = (where: Pick<Frame, 'evaluate'>) =>
    where.evaluate(
      (limit: number) =>
        Promise.race([
          (globalThis as unknown as { seen: Promise<number> }).seen,
          new Promise<null>((resolve) => setTimeout(() => resolve(null), limit)),
        ]),
      10_000,
    );
  for (let i = 0; i < pairs; i++) {
    // A digit of the height from which the leg home is flown: `5400 ft` becomes `54100 ft`, and again `5400 ft`.
    for (const key of ['1', 'Backspace']) {
      await frame.evaluate(() => {
        const texts = () =>
          [...document.querySelectorAll('#flight svg text')].map(({ textContent }) => textContent).join();
        const before = texts();
        (globalThis as unknown as World).seen = new Promise((resolve) => {
          const look = () => {
            if (texts() !== before) resolve(performance.timeOrigin + performance.now());
            else requestAnimationFrame(look);
          };
          requestAnimationFrame(look);
        });
      }, undefined);
      await page.page.evaluate(() => {
        const world = globalThis as unknown as World;
        const drawn = () =>
          // On the line that is typed into a squiggle changes with the text, before anything is checked.
          [...document.querySelectorAll('.editor-group-container [class*="squiggly-"]')]
            .filter((one) => !one.parentElement?.querySelector('.current-line'))
            .map((one) => `${one.className}${one.getAttribute('style')}`)
            .sort()
            .join();
        const before = drawn();
        world.seen = new Promise((resolve) => {
          const look = () => {
            if (drawn() !== before) resolve(performance.timeOrigin + performance.now());
            else requestAnimationFrame(look);
          };
          requestAnimationFrame(look);
        });
        const onKey = ({ timeStamp }: KeyboardEvent) => {
          world.pressed = performance.timeOrigin + timeStamp;
        };
        document.addEventListener('keydown', onKey, { capture: true, once: true });
      }, undefined);
      await page.page.keyboard.press(key);
      const view = await when(frame);
      const squiggle = await when(page.page);
      const pressed = await page.page.evaluate(() => (globalThis as unknown as World).pressed ?? Number.NaN, undefined);
      if (view === null) throw new Error(`${key} changed nothing in the view within 10 s`);
      if (squiggle === null) throw new Error(`${key} changed no squiggle within 10 s`);
      times.push({ squiggle: squiggle - pressed, view: view - pressed });
      await settle();
    }
  }
  await undoes(page);
  return times;
}

/** More wind in the what-if, written into the plan, and one undo that takes it back. */
export async function movesWind(page: EditorPage, picture: (name: string) => Promise<unknown>): Promise<void> {
  await opensFlightView(page);
  const frame = await opensWhatIf(page);
  const said = () => textOf(frame, '.what-if .state');
  await isAccessible(frame);
  await picture('what-if');
  await frame.locator('.what-if button', { hasText: VIEWS.whatIf.write }).first().click();
  await until('nothing left to write', async () => VIEWS.whatIf.off.test(await said()));
  await toText(page);
  await page.shows(VIEWS.whatIf.line);
  await page.undo();
  await until(
    'one undo takes it back',
    async () => (await page.page.locator('.tabs-container .tab.dirty').count()) === 0,
  );
}

/** The sheet beside the text, and what is said where the system's browser cannot be handed a page. */
export async function printsBrief(page: EditorPage): Promise<void> {
  await opensSheet(page);
  await sheetIsAccessible(page);
  await toText(page);
  await page.command(VIEWS.sheet.print);
  await page.page.locator('.notification-toast', { hasText: VIEWS.sheet.how }).first().waitFor();
  await page.command('Notifications: Clear All Notifications');
}

/** The sheet as a PDF beside the plan, where the editor proposes it; then it goes again. */
export async function savesPdf(page: EditorPage, folder: string): Promise<void> {
  const file = path.join(folder, VIEWS.sheet.pdf);
  try {
    await page.focus();
    await page.command(VIEWS.sheet.save);
    const input = page.page.locator(SELECTORS.quickInput).first();
    await until('the editor asks where to', async () => {
      const proposed = await input.evaluate((one) => (one as HTMLInputElement).value);
      return proposed.endsWith(VIEWS.sheet.pdf);
    });
    await page.page.keyboard.press('Enter');
    await until('the file', async () => existsSync(file) && statSync(file).size > 0);
    await page.page.locator(SELECTORS.notification, { hasText: VIEWS.sheet.saved }).first().waitFor();
    const bytes = readFileSync(file, 'latin1');
    if (!bytes.startsWith('%PDF-') || !bytes.trimEnd().endsWith('%%EOF')) throw new Error('that is no whole PDF file');
    await page.command('Notifications: Clear All Notifications');
  } finally {
    rmSync(file, { force: true });
  }
}

export async function opensSheet(page: EditorPage): Promise<Frame> {
  await page.focus();
  await page.command(VIEWS.sheet.command);
  const frame = await frameWith(page, 'nav.legwise');
  await until('the sheet', async () => VIEWS.sheet.text.test(await textOf(frame, 'body')));
  return frame;
}
