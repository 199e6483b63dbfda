// Every view in a theme and at a zoom: pictures to look at, and what can be told without eyes, that nothing is cut off
// and that an accessibility checker finds nothing serious.
import { FINDING, ITINERARY, LENS, SELECTORS } from './expectations.ts';
import type { EditorPage } from './page.ts';
import { opensRule } from './pilot.ts';
import {
  closesView,
  isAccessible,
  opensFlightView,
  opensSheet,
  opensWhatIf,
  reflows,
  sheetIsAccessible,
} from './views.ts';

/** How much higher a window is for the picture of a view, so that all of it is seen. */
const HIGHER = 3;

type Picture = (name: string) => Promise<unknown>;

/** The text with its squiggle, lenses and hovers, the problems and the page of a rule. */
export async function picturesOfText(page: EditorPage, picture: Picture): Promise<void> {
  await page.toEnd();
  await page.waitForSquiggles(FINDING.severity);
  await page.lens(LENS);
  await page.away();
  await picture('text');
  await page.hoverSquiggle(FINDING.severity, FINDING.hover);
  await picture('finding');
  await page.hoverToken(ITINERARY.token, ITINERARY.hover);
  await picture('itinerary');
  await page.away();
  await page.command('View: Focus Problems (Errors, Warnings, Infos)');
  await page.page.locator('.markers-panel .monaco-list-row').first().waitFor();
  await picture('problems');
  await page.command('View: Toggle Panel Visibility');
  await opensRule(page);
  await picture('rule');
  await page.command('View: Close Editor');
}

/** The flight view, the what-if and the sheet, each beside the text. */
export async function picturesOfViews(page: EditorPage, picture: Picture): Promise<void> {
  await page.page.locator(SELECTORS.sideBar).first().waitFor();
  await page.command('View: Toggle Primary Side Bar Visibility');
  const flight = await opensFlightView(page);
  await page.higher(HIGHER);
  await reflows(flight);
  await isAccessible(flight);
  await picture('flight');
  await page.higher(1);
  const whatIf = await opensWhatIf(page);
  await page.higher(HIGHER);
  await reflows(whatIf);
  await isAccessible(whatIf);
  await picture('what-if');
  await page.higher(1);
  await closesView(page);
  await opensSheet(page);
  await page.higher(HIGHER);
  await picture('sheet');
  await page.higher(1);
  await sheetIsAccessible(page);
  await closesView(page);
}
