// Plays steps one after the other, each from the same beginning: what one leaves behind, above all one that failed, is
// gone before the next. One that fails is played once more: a driver that clicks faster than a busy machine draws says
// nothing of the extension, and what is wrong with that fails twice.
import path from 'node:path';
import type { EditorPage } from './page.ts';

export class Stage {
  passed = 0;
  failed = 0;
  #failures = 0; // each has its picture
  readonly #where: string;
  readonly #pictures: string;
  readonly #open: () => Promise<EditorPage>;
  #page: EditorPage | undefined;

  /** `where` comes before the name of each step; pictures of failures go to the folder `pictures`; `open` opens the plan as it is in the samples. */
  constructor(where: string, pictures: string, open: () => Promise<EditorPage>) {
    this.#where = where;
    this.#pictures = pictures;
    this.#open = open;
  }

  /** Makes and tells a step, twice where the first time fails; whether it passed. */
  async test(name: string, body: (page: EditorPage) => Promise<void>): Promise<boolean> {
    const start = performance.now();
    for (let attempt = 1; ; attempt++) {
      try {
        this.#page ??= await this.#open();
        await body(this.#page);
        break;
      } catch (error) {
        const why = String(error).replaceAll('\n', '\n      ');
        this.#failures++;
        const picture = `${this.#where ? 'web-' : ''}failed-${this.#failures}.png`;
        await this.#page?.screenshot(path.join(this.#pictures, picture)).catch(() => undefined);
        await this.close();
        if (attempt === 1) {
          console.log(`again ${this.#where}${name}: ${why}`);
          continue;
        }
        this.failed++;
        console.log(`FAIL  ${this.#where}${name}\n      ${why}`);
        return false;
      }
    }
    this.passed++;
    console.log(`ok    ${this.#where}${name} (${((performance.now() - start) / 1000).toFixed(1)} s)`);
    const left = await this.#page.left().catch((error: unknown) => String(error));
    if (left === undefined) return true;
    console.log(`      opened again, since there was ${left}`);
    await this.close();
    return true;
  }

  /** The next step opens the plan afresh. */
  async close(): Promise<void> {
    const page = this.#page;
    this.#page = undefined;
    await page?.close().catch(() => undefined);
  }

  get page(): EditorPage | undefined {
    return this.#page;
  }
}
