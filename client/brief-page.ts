/** The page of the preview: the sheet as it is printed, below what can be done with it. It needs no script. */

const ACTIONS = [
  ['legwise.briefSaveHtml', 'Save as HTML'],
  ['legwise.briefSavePdf', 'Save as PDF'],
  ['legwise.briefPrint', 'Print'],
] as const;

const STYLE = `
body { padding: 0 !important; }
/* As wide as the paper, and smaller where there is less room. */
main { padding: 6mm 5mm; width: 198mm; margin: 0 auto; }
@media (max-width: 748px) { main { zoom: .9; } }
@media (max-width: 673px) { main { zoom: .8; } }
@media (max-width: 598px) { main { zoom: .7; } }
@media (max-width: 524px) { main { zoom: .6; } }
@media (max-width: 449px) { main { zoom: .5; } }
@media (max-width: 374px) { main { zoom: .43; } }
nav.legwise { position: sticky; top: 0; z-index: 1; display: flex; flex-wrap: wrap; gap: 8px; padding: 8px 12px;
  background: var(--vscode-editor-background); border-bottom: 1px solid var(--vscode-contrastBorder, var(--vscode-panel-border, transparent));
  font: var(--vscode-font-size, 13px) var(--vscode-font-family, sans-serif); }
nav.legwise a { padding: 4px 10px; text-decoration: none; border-radius: 2px; border: 1px solid var(--vscode-button-border, transparent);
  color: var(--vscode-button-secondaryForeground); background: var(--vscode-button-secondaryBackground); }
nav.legwise a:hover { background: var(--vscode-button-secondaryHoverBackground); }
nav.legwise a:focus { outline: 2px solid var(--vscode-focusBorder); outline-offset: 2px; }
p.legwise { padding: 16px; font: var(--vscode-font-size, 13px) var(--vscode-font-family, sans-serif); color: var(--vscode-editor-foreground); }
`;

const POLICY = `default-src 'none'; style-src 'unsafe-inline'`;

/** The sheet's page with our links above it; where there is no sheet, why. */
export function briefPage(sheet: string | { readonly none: string }): string {
  if (typeof sheet !== 'string') {
    return [
      '<!DOCTYPE html>',
      `<html lang="en"><head><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="${POLICY}">`,
      `<title>Briefing sheet</title><style>${STYLE}</style></head>`,
      `<body><p class="legwise" role="status">${sheet.none}</p></body></html>`,
    ].join('\n');
  }
  const links = ACTIONS.map(([command, title]) => `<a href="command:${command}">${title}</a>`).join('');
  // Functions, so that no sign in the texts is taken for a pattern.
  return sheet
    .replace('</head>', () => `<style>${STYLE}</style></head>`)
    .replace('<body>', () => `<body><nav class="legwise" aria-label="What can be done with the sheet">${links}</nav>`);
}
