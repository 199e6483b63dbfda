/** The sheet as PDF: the same sheet as `brief-html.ts` prints, with its letters in the file. */
import PDFDocument from 'pdfkit';
import { Ink } from './brief-ink.ts';
import type { BriefSheet } from './brief-model.ts';
import { FontLetters, PdfPen } from './brief-pdf-ink.ts';
import { type BriefPaper, fitted, Setter, SHEETS } from './brief-set.ts';

/** Both as they come: WOFF or TrueType. */
export interface BriefFonts {
  readonly regular: Uint8Array;
  readonly bold: Uint8Array;
}

export interface PdfOptions {
  readonly paper: BriefPaper;
  readonly fonts: BriefFonts;
  /** When the sheet is made, ms since 1970: the file tells it. */
  readonly madeMs: number;
}

function documentOf(sheets: readonly BriefSheet[], { madeMs, fonts }: PdfOptions): PDFKit.PDFDocument {
  const made = new Date(madeMs);
  const doc = new PDFDocument({
    autoFirstPage: false,
    bufferPages: true,
    margin: 0,
    lang: 'en',
    displayTitle: true,
    pdfVersion: '1.7',
    font: '',
    info: {
      Title: sheets.map(({ title }) => title).join(', ') || 'No task',
      Creator: 'Legwise',
      Producer: 'Legwise',
      CreationDate: made,
      ModDate: made,
    },
  });
  doc.registerFont('regular', fonts.regular as Buffer);
  doc.registerFont('bold', fonts.bold as Buffer);
  return doc;
}

/**
 * The sheets as one PDF file: a page each, and a reverse where there is more than a page shows; a task with very many
 * legs flows on, its header repeated. What the fonts cannot print is shown by its number, `<U+65E5>`. Rejects for fonts that are none.
 */
export function briefPdf(sheets: readonly BriefSheet[], options: PdfOptions): Promise<Uint8Array> {
  return new Promise((resolve, reject) => {
    const letters = new FontLetters(options.fonts.regular, options.fonts.bold);
    const doc = documentOf(sheets, options);
    const chunks: Uint8Array[] = [];
    doc.on('data', (chunk: Uint8Array) => chunks.push(chunk));
    doc.on('error', reject);
    doc.on('end', () => {
      const bytes = new Uint8Array(chunks.reduce((sum, { length }) => sum + length, 0));
      let at = 0;
      for (const chunk of chunks) {
        bytes.set(chunk, at);
        at += chunk.length;
      }
      resolve(bytes);
    });
    const measure = new Ink(letters);
    const ink = new Ink(letters, new PdfPen(doc), measure);
    const paper = SHEETS[options.paper];
    let pages = 0;
    for (const [i, sheet] of sheets.entries()) {
      const sides = fitted(sheet, paper, measure);
      const setter = new Setter(ink, sheet, paper, sides, `s${i + 1}`);
      setter.set(sides.front);
      if (sides.reverse) setter.set(sides.reverse);
      for (let page = 1; page <= setter.pages; page++) {
        doc.switchToPage(pages + page - 1);
        setter.number(page);
      }
      pages += setter.pages;
    }
    if (sheets.length === 0) {
      ink.page(paper.width, paper.height);
      ink.write('This file holds no task.', paper.side, paper.top, paper.width - 2 * paper.side, { size: 9 });
    }
    doc.end();
  });
}
