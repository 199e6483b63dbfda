/// <reference lib="dom" />
/** The flight view's script, as the panel loads it. */
import { DRAWING_CSS } from '../../server/reports/draw/ink.ts';
import { MOUNTED } from './mounted.ts';
import { View } from './view.ts';

declare function acquireVsCodeApi(): {
  postMessage(message: unknown): void;
  getState(): unknown;
  setState(state: unknown): void;
};

// Not in the page's style sheet, so that the drawing and its colours come from one place.
const colours = new CSSStyleSheet();
colours.replaceSync(DRAWING_CSS);
document.adoptedStyleSheets = [colours];

const editor = acquireVsCodeApi();
const root = document.getElementById('flight');
if (root) {
  const view = new View(root, {
    post: (message) => editor.postMessage(message),
    getState: () => editor.getState(),
    setState: (state) => editor.setState(state),
  });
  window.addEventListener('message', ({ data }) => view.onMessage(data));
  for (const [name, part] of Object.entries(MOUNTED)) {
    const section = document.getElementById(name);
    if (section) view.mount(name, section, part);
  }
  editor.postMessage({ type: 'ready' });
}
