// What a pilot does with a plan in the editor, step by step; each step leaves the plan as it found it.
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { COMPLETION, FINDING, FIX, HINT, MISTAKE, PAGE, RENAME, SELECTORS } from './expectations.ts';
import { type EditorPage, until } from './page.ts';

/** Numbers stand behind the lines of the itinerary. */
export async function seesHints(page: EditorPage): Promise<void> {
  await page.toEnd();
  await page.shows(HINT);
}

/** Half a name becomes a turnpoint, in quotes. */
export async function completesTurnpoint(page: EditorPage): Promise<void> {
  await page.typeAtEnd(COMPLETION.typed);
  const row = page.page.locator(SELECTORS.suggestion, { hasText: COMPLETION.row }).first();
  await until('the proposal', async () => {
    // Proposals may have come while the name was typed; asking again then only turns their details on or off.
    if ((await row.count()) > 0) return true;
    await page.page.keyboard.press('Control+Space');
    await row.waitFor({ timeout: 4000 });
    return true;
  });
  await page.page.keyboard.press('Enter');
  await page.shows(COMPLETION.line);
  await undoes(page, async () => (await page.page.locator(SELECTORS.suggestion).count()) === 0);
}

/** Undoes until the plan is as it was: nothing to save. */
export async function undoes(page: EditorPage, and: () => Promise<boolean> = async () => true): Promise<void> {
  await until('the plan as it was', async () => {
    if ((await page.page.locator(SELECTORS.dirty).count()) === 0 && (await and())) return true;
    await page.page.keyboard.press('Escape');
    await page.undo();
    return false;
  });
}

/** The finding's first fix takes it away. */
export async function appliesFix(page: EditorPage): Promise<void> {
  await page.waitForSquiggles(FINDING.severity);
  await page.caretBehind('finish');
  await until('the fix', async () => {
    // Asked before the findings came, the editor has none to offer.
    await page.page.keyboard.press('Control+.');
    try {
      await page.page.locator(SELECTORS.action, { hasText: FIX }).first().click({ timeout: 8000 });
    } catch (error) {
      await page.page.keyboard.press('Escape');
      throw error;
    }
    return true;
  });
  await page.waitForSquiggles(FINDING.severity, 0);
  await undoes(page);
  await page.waitForSquiggles(FINDING.severity);
}

/** A mistake is underlined while it is typed, and no longer once it is undone. */
export async function typesMistake(page: EditorPage): Promise<void> {
  await page.toEnd();
  const before = await page.waitForSquiggles(FINDING.severity);
  await page.typeAtEnd(MISTAKE.text);
  await until('one more squiggle', async () => (await page.squiggles(MISTAKE.severity)) > before);
  await undoes(page);
  await page.waitForSquiggles(FINDING.severity, before);
}

/** The finding's code leads to the page of its rule. */
export async function opensRule(page: EditorPage): Promise<void> {
  await page.hoverSquiggle(FINDING.severity, FINDING.hover);
  await page.page.locator(`${SELECTORS.hover} a`, { hasText: FINDING.code }).first().click({ timeout: 5000 });
  await page.page.locator(SELECTORS.activeTab, { hasText: PAGE.tab }).waitFor();
  await page.pageWith(PAGE.text);
}

/** A field gets another name in the plan and in the file that defines it, and its old one again. */
export async function renamesField(page: EditorPage, folder: string): Promise<void> {
  const texts = () => RENAME.files.map((file) => readFileSync(path.join(folder, file), 'utf8'));
  const before = texts();
  const rename = async (from: string, to: string) => {
    await page.caretBehind(from);
    await page.page.keyboard.press('ArrowLeft');
    await page.page.keyboard.press('F2');
    const input = page.page.locator(SELECTORS.renameInput).first();
    await input.waitFor();
    await input.fill(to);
    await page.page.keyboard.press('Enter');
    await page.page.locator(SELECTORS.renameInput).first().waitFor({ state: 'hidden' });
    await until(`${to} in the plan`, async () => (await page.page.locator(SELECTORS.dirty).count()) > 0);
    await page.command('File: Save All Files');
  };
  await rename(RENAME.field, RENAME.to);
  await until('the new name in every file', async () => texts().every((text) => text.includes(RENAME.to)));
  await page.shows(new RegExp(RENAME.to));
  await rename(RENAME.to, RENAME.field);
  await until('the old name again', async () => texts().every((text, i) => text === before[i]));
}

/** The times from a key pressed to the squiggle that it makes, and to the one that it takes away, ms. */
export async function measuresKeystrokes(page: EditorPage, pairs: number): Promise<number[]> {
  await page.caretBehind('finish');
  await page.page.keyboard.press('End');
  await page.waitForSquiggles(FINDING.severity);
  await settle();
  const times: number[] = [];
  for (let i = 0; i < pairs; i++) {
    for (const key of ['x', 'Backspace']) {
      await page.page.evaluate((makes: boolean) => {
        // As the user meets it: from the key's own event to the frame that shows other squiggles, or those of before.
        const world = globalThis as unknown as { atRest?: string; seen?: Promise<number> };
        const drawn = () =>
          [...document.querySelectorAll('.editor-group-container.active [class*="squiggly-"]')]
            .map((one) => `${one.className}${one.getAttribute('style')}`)
            .sort()
            .join();
        world.atRest ??= drawn();
        world.seen = new Promise((resolve) => {
          const onKey = ({ timeStamp }: KeyboardEvent) => {
            const look = () => {
              if ((drawn() !== world.atRest) === makes) resolve(performance.now() - timeStamp);
              else requestAnimationFrame(look);
            };
            requestAnimationFrame(look);
          };
          document.addEventListener('keydown', onKey, { capture: true, once: true });
        });
      }, key === 'x');
      await page.page.keyboard.press(key);
      const time = await page.page.evaluate(
        (limit: number) =>
          Promise.race([
            (globalThis as unknown as { seen: Promise<number> }).seen,
            new Promise<null>((resolve) => setTimeout(() => resolve(null), limit)),
          ]),
        10_000,
      );
      if (time === null) throw new Error(`${key} changed no squiggle within 10 s`);
      times.push(time);
      await settle();
    }
  }
  await undoes(page);
  return times.sort((a, b) => a - b);
}

const settle = () => new Promise((resolve) => setTimeout(resolve, 300));
