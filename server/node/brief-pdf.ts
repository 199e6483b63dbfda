/** The sheet as PDF with the fonts that go with it: a bundle of its own, loaded when a PDF is asked for. */
import bold from 'roboto-fontface/fonts/roboto/Roboto-Bold.ttf';
import regular from 'roboto-fontface/fonts/roboto/Roboto-Regular.ttf';
import type { BriefSheet } from '../reports/brief-model.ts';
import { briefPdf, type PdfOptions } from '../reports/brief-pdf.ts';

export function pdfOf(sheets: readonly BriefSheet[], options: Omit<PdfOptions, 'fonts'>): Promise<Uint8Array> {
  return briefPdf(sheets, { ...options, fonts: { regular, bold } });
}
