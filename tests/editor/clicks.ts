// What is clicked rather than typed: a new plan and a new club by a few questions, the walkthrough, the task that checks
// every plan, the comparison with the last commit, the status. Each step leaves the folder as it found it.
import { execFileSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import path from 'node:path';
import {
  FINDING,
  NEW_CLUB,
  NEW_PLAN,
  PLAN,
  RESTRICTED,
  SELECTORS,
  SINCE,
  STATUS,
  TASK,
  WALKTHROUGH,
} from './expectations.ts';
import { type EditorPage, until, whole } from './page.ts';
import { undoes } from './pilot.ts';
import { closesView, isAccessible, opensFlightView } from './views.ts';

/** Answers a question by its title: a choice by its row, anything else by writing it. */
async function answers(
  page: EditorPage,
  questions: readonly { title: RegExp; row?: string; text?: string }[],
): Promise<void> {
  const input = page.page.locator(SELECTORS.quickInput).first();
  for (const { title, row, text } of questions) {
    await page.page.locator(SELECTORS.quickTitle, { hasText: title }).first().waitFor();
    await input.fill(row ?? text ?? '');
    if (row)
      await page.page
        .locator(SELECTORS.quickFocused, { hasText: whole(row) })
        .first()
        .waitFor();
    await page.page.keyboard.press('Enter');
  }
}

/** A plan made by a few questions is written, good, and opened; then it goes again. */
export async function makesPlan(page: EditorPage, folder: string): Promise<void> {
  const file = path.join(folder, NEW_PLAN.file);
  try {
    await page.toEnd();
    await page.waitForSquiggles(FINDING.severity); // before, the server is not there to be asked
    await page.command(NEW_PLAN.command);
    await answers(page, NEW_PLAN.answers);
    await page.page.locator(SELECTORS.activeTab, { hasText: path.basename(NEW_PLAN.file) }).waitFor();
    await page.shows(NEW_PLAN.shows);
    // Its numbers come from the server, and so do its findings: there are none once there are numbers.
    for (const severity of ['error', 'warning', 'info'])
      if (await page.squiggles(severity)) throw new Error(`the new plan has a finding (${severity})`);
    const text = readFileSync(file, 'utf8');
    for (const line of NEW_PLAN.lines) if (!line.test(text)) throw new Error(`no ${line} in\n${text}`);
    await page.command('View: Close Editor');
    await page.page.locator(SELECTORS.activeTab, { hasText: path.basename(PLAN) }).waitFor();
  } finally {
    rmSync(file, { force: true });
  }
}

/** The files of a club, made in an empty folder that PAGE shows. */
export async function makesClub(page: EditorPage, folder: string): Promise<void> {
  await page.command(NEW_CLUB.command);
  await answers(page, NEW_CLUB.answers);
  await page.page.locator(SELECTORS.activeTab, { hasText: NEW_CLUB.tab }).waitFor();
  await page.shows(NEW_CLUB.shows);
  const made = readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.taskplan'));
  for (const file of NEW_CLUB.files)
    if (!made.includes(file)) throw new Error(`${file} was not made; there is ${made.join(', ')}`);
  const text = readFileSync(path.join(folder, NEW_CLUB.home.file), 'utf8');
  if (!NEW_CLUB.home.line.test(text)) throw new Error(`no ${NEW_CLUB.home.line} in\n${text}`);
}

/** Each step of the walkthrough has its words and its picture. */
export async function walksThrough(page: EditorPage, picture: (name: string) => Promise<unknown>): Promise<void> {
  const input = page.page.locator(SELECTORS.quickInput).first();
  await page.command('Welcome: Open Walkthrough...');
  await input.fill(WALKTHROUGH.title);
  await page.page.locator(SELECTORS.quickFocused, { hasText: WALKTHROUGH.title }).first().waitFor();
  await page.page.keyboard.press('Enter');
  for (const [i, { title, alt }] of WALKTHROUGH.steps.entries()) {
    const step = page.page.locator(`.getting-started-step`, { hasText: title }).first();
    await step.waitFor();
    if (i > 0) await step.locator('.step-title').first().click();
    const image = page.page.locator(`.getting-started-media img[alt^="${alt}"]`).first();
    await image.waitFor();
    await until(`the picture of “${title}”`, () =>
      image.evaluate((one) => (one as HTMLImageElement).complete && (one as HTMLImageElement).naturalWidth > 0),
    );
    await picture(`walkthrough-${i + 1}`);
  }
  await page.command('View: Close Editor');
  await page.page.locator(SELECTORS.activeTab, { hasText: path.basename(PLAN) }).waitFor();
}

/** The task runs the command line that came with the extension; what it finds stands among the problems. */
export async function runsTask(page: EditorPage, picture: (name: string) => Promise<unknown>): Promise<void> {
  const input = page.page.locator(SELECTORS.quickInput).first();
  const take = async (text: string) => {
    await input.fill(text, { timeout: 3000 });
    await page.page.locator(SELECTORS.quickFocused, { hasText: text }).first().waitFor({ timeout: 3000 });
    await page.page.keyboard.press('Enter');
  };
  await page.focus();
  await until(`the task ${TASK.name}`, async () => {
    // The list closes when something else takes the keyboard, and is empty until the extension has been asked.
    await page.command('Tasks: Run Task');
    try {
      await take(TASK.type);
      await take(TASK.name);
    } catch (error) {
      await page.page.keyboard.press('Escape');
      throw error;
    }
    return true;
  });
  // The task's own: the server's findings have another source. A task that ends with findings shows its terminal again.
  let rows = '';
  await until(`${TASK.problem} among the problems`, async () => {
    await page.command('View: Focus Problems (Errors, Warnings, Infos)');
    await page.page
      .locator('.markers-panel .monaco-list-row', { hasText: TASK.source })
      .first()
      .waitFor({ timeout: 5000 });
    rows = (await page.page.locator('.markers-panel .monaco-list-row').allInnerTexts()).join('\n');
    return TASK.problem.test(rows);
  }).catch((error: unknown) => {
    throw new Error(`${String(error)}; there was\n${rows}`);
  });
  await picture('task');
  await page.command('View: Toggle Panel Visibility');
}

/** The folder as a repository whose last commit holds all that is in it. */
export function commits(folder: string): void {
  const git = (...args: string[]) => execFileSync('git', args, { cwd: folder, stdio: ['ignore', 'ignore', 'pipe'] });
  git('init', '--quiet', '--initial-branch=main');
  git('add', '--all');
  git('-c', 'user.name=Tests', '-c', 'user.email=tests@localhost', 'commit', '--quiet', '--message=The club');
}

/** What an edit means in the air, against the last commit. */
export async function compares(page: EditorPage, picture: (name: string) => Promise<unknown>): Promise<void> {
  await page.caretBehind(SINCE.behind);
  await page.page.keyboard.press('Backspace');
  await page.page.keyboard.type(SINCE.typed);
  await page.shows(SINCE.line);
  await page.command(SINCE.command);
  await page.webview(SINCE.text);
  await picture('compare');
  await closesView(page);
  await page.focus();
  await undoes(page);
}

/** In a folder that is not trusted: the finding and its numbers as ever; what would run another program says why not. */
export async function staysRestricted(page: EditorPage): Promise<void> {
  await page.page.locator('.part.statusbar .statusbar-item', { hasText: RESTRICTED.said }).first().waitFor();
  await page.toEnd();
  await page.waitForSquiggles(FINDING.severity);
  await page.hoverSquiggle(FINDING.severity, FINDING.hover);
  await page.away();
  const frame = await opensFlightView(page);
  await isAccessible(frame);
  await closesView(page);
  await page.focus();
  await page.command(RESTRICTED.compare);
  await page.page.locator(SELECTORS.notification, { hasText: RESTRICTED.refused }).first().waitFor();
}

/** The least margin of the plan in the status bar, with the leg that a click goes to. */
export async function tellsStatus(page: EditorPage): Promise<void> {
  await page.focus();
  const item = page.page.locator(SELECTORS.status).first();
  let said: string | null = '';
  await until(`the status ${STATUS}`, async () => {
    said = await item.evaluate((one) => one.getAttribute('aria-label'));
    return STATUS.test(said ?? '');
  }).catch((error: unknown) => {
    throw new Error(`${String(error)}; it said ${said}`);
  });
}

/** An empty folder, made below HOME. */
export function emptyFolder(home: string): string {
  const folder = path.join(home, 'empty');
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  return folder;
}
