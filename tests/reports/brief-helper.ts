/** Reads a sheet back: the words of a PDF through an independent reader, the tables of an HTML page through another. */
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { DOMParser, type Element } from '@xmldom/xmldom';
import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs';
import { understand } from '../../server/plan/understand.ts';
import { createWorkspace, setFile, type Workspace } from '../../server/plan/workspace.ts';
import { type BriefSheet, type BriefStamp, briefSheets } from '../../server/reports/brief-model.ts';
import { EXAMPLE_CLUB } from '../../server/rules/club.ts';
import { check } from '../../server/rules/run.ts';

export const ROOT = path.resolve(import.meta.dirname, '../..');
const FONT = path.join(ROOT, 'node_modules/roboto-fontface/fonts/roboto/Roboto-');
export const FONTS = { regular: readFileSync(`${FONT}Regular.ttf`), bold: readFileSync(`${FONT}Bold.ttf`) };
export const STAMP: BriefStamp = {
  revision: { id: '0123456789', uncommitted: false },
  time: '2026-06-12 19:30Z',
};

export interface Page {
  readonly width: number;
  readonly height: number;
  /** Pieces of text with where they stand: x from the left, y from the top, and the size of their letters, pt. */
  readonly items: readonly {
    readonly text: string;
    readonly x: number;
    readonly y: number;
    readonly width: number;
    readonly size: number;
  }[];
}

/** The pages of a PDF as a reader of PDF files sees them. */
export async function pagesOf(bytes: Uint8Array): Promise<Page[]> {
  const loading = getDocument({ data: bytes.slice(), useSystemFonts: false, verbosity: 0 });
  const pdf = await loading.promise;
  const pages: Page[] = [];
  for (let n = 1; n <= pdf.numPages; n++) {
    const page = await pdf.getPage(n);
    const { width, height } = page.getViewport({ scale: 1 });
    const { items } = await page.getTextContent();
    pages.push({
      width,
      height,
      items: items.flatMap((item) =>
        'str' in item && item.str.trim() !== ''
          ? [
              {
                text: item.str,
                x: item.transform[4],
                y: height - item.transform[5],
                width: item.width,
                size: Math.abs(item.transform[3]),
              },
            ]
          : [],
      ),
    });
  }
  await loading.destroy();
  return pages;
}

/** Text without its spaces: a line may break anywhere in a word that is too long. */
export const bare = (text: string) => text.replace(/\s+/g, '');

export const textOf = (pages: readonly Page[]) =>
  pages.map(({ items }) => items.map(({ text }) => text).join('')).join('');

/** A page as a tree. It is HTML of which every element is closed, but for a few that never are. */
export function treeOf(html: string): Element {
  const closed = html.replace(/<(meta|br|col)\b([^>]*)>/g, '<$1$2/>').replace(/^<!DOCTYPE html>/, '');
  const parser = new DOMParser({
    onError: (level, message) => {
      if (level !== 'warning') throw new Error(message);
    },
  });
  return parser.parseFromString(closed, 'application/xhtml+xml').documentElement as Element;
}

export const elements = (of: Element, name: string): Element[] => Array.from(of.getElementsByTagName(name));

export interface ReadTable {
  readonly title: string;
  readonly heads: readonly string[];
  /** Cells as their lines: the large one, and those below. */
  readonly rows: readonly (readonly (readonly string[])[])[];
  /** What stands below each row. */
  readonly notes: readonly string[];
}

/** The tables of rows in a page, by their captions. */
export function tablesOf(root: Element): ReadTable[] {
  return elements(root, 'table')
    .filter((table) => /^rows\b/.test(table.getAttribute('class') ?? ''))
    .map((table) => {
      const caption = elements(table, 'caption')[0]?.textContent ?? '';
      const [head, ...bodies] = [...elements(table, 'thead'), ...elements(table, 'tbody')];
      const lines = (cell: Element): string[] => {
        const [main = '', ...under] = Array.from(cell.childNodes).map((node) => node.textContent ?? '');
        return [main, ...under];
      };
      return {
        title: caption,
        heads: head ? elements(head, 'th').map((cell) => cell.textContent ?? '') : [],
        notes: bodies.map((body) => elements(body, 'tr')[1]?.textContent ?? ''),
        rows: bodies.map((body) => {
          const [row] = elements(body, 'tr');
          if (!row) return [];
          return Array.from(row.childNodes).map((cell) => lines(cell as Element));
        }),
      };
    });
}

export interface Made {
  readonly workspace: Workspace;
  readonly sheets: readonly BriefSheet[];
}

/** The sheets of a plan that uses the example club. */
export function sheetsOf(plan: string, stamp: BriefStamp = STAMP): Made {
  const workspace = createWorkspace(['plan:/']);
  setFile(workspace, 'plan:/club.taskplan', EXAMPLE_CLUB);
  const file = setFile(workspace, 'plan:/a.taskplan', `use "club.taskplan"\n\n${plan}`);
  const understood = understand(workspace, file);
  return { workspace, sheets: briefSheets(workspace, understood, check(workspace, understood), stamp) };
}
