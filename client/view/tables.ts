/// <reference lib="dom" />
/** The numbers of a task as a table, and its findings as a list: for everybody, and above all without the drawing. */
import type { FlightViewFinding } from '../../server/features/flight-view.ts';
import { LEG_HEADS } from '../../server/plan/budget-rows.ts';
import type { Picture } from '../../server/plan/picture-data.ts';
import { element, matchChildren, setAttribute, setText } from './elements.ts';

/** What a click on a row or a finding does: a line from 0; `focus` when the text is to take the keyboard. */
export type LineTaken = (line: number, focus: boolean) => void;

/** A button that goes to a line: one click shows it, a second or the keyboard goes there. */
function lineButton(taken: LineTaken): HTMLButtonElement {
  const button = element('button', { type: 'button', class: 'to-line' });
  const line = () => Number(button.dataset['line']);
  // A click by the keyboard has no count.
  button.addEventListener('click', ({ detail }) => taken(line(), detail !== 1));
  return button;
}

/** What matters first: a narrow panel shows the left of the table. */
const COLUMNS = [
  'leg',
  'margin',
  'required',
  'depart',
  'arrive',
  'over point',
  'asked',
  'distance',
  'course',
  'speed',
  'time',
] as const satisfies readonly (typeof LEG_HEADS)[number][];

export class LegTable {
  readonly root: HTMLElement;
  readonly #caption = element('caption');
  readonly #body = element('tbody');
  readonly #taken: LineTaken;

  constructor(taken: LineTaken) {
    this.#taken = taken;
    const heads = COLUMNS.map((head) => element('th', { scope: 'col' }, head));
    const table = element('table', {}, this.#caption, element('thead', {}, element('tr', {}, ...heads)), this.#body);
    // A table wider than the panel is scrolled by itself, also by the keyboard.
    this.root = element(
      'div',
      { class: 'scrolls', tabindex: 0, role: 'region', 'aria-label': 'Legs of the task' },
      table,
    );
  }

  /** Shows the legs of a task; the lit one is the caret's. */
  show({ task, legs }: Picture, lit: number | null): void {
    setText(this.#caption, `${task}: heights above the sea, but those over the point`);
    matchChildren(
      this.#body,
      legs,
      () =>
        element(
          'tr',
          {},
          element('th', { scope: 'row' }, lineButton(this.#taken)),
          ...COLUMNS.slice(1).map((head) => element('td', { class: head === 'margin' ? 'margin' : undefined })),
        ),
      (row, { number, cells, lines, marginM }) => {
        const cellOf = (head: (typeof LEG_HEADS)[number]) => cells[LEG_HEADS.indexOf(head)] ?? '';
        setAttribute(row, 'aria-current', number === lit ? 'true' : null);
        row.classList.toggle('short', marginM !== null && marginM < 0);
        const button = row.querySelector('button') as HTMLButtonElement;
        setText(button, cellOf('leg'));
        button.dataset['line'] = String(lines.last);
        for (const [j, cell] of [...row.querySelectorAll('td')].entries())
          setText(cell, cellOf(COLUMNS[j + 1] ?? 'leg'));
      },
    );
  }
}

const SEVERITY = { error: 'Error', warning: 'Warning', info: 'Note', hint: 'Hint' } as const;

export class FindingList {
  readonly root: HTMLElement;
  readonly #list = element('ul');
  readonly #none = element('p', {}, 'Nothing is found.');
  readonly #taken: LineTaken;

  constructor(taken: LineTaken) {
    this.#taken = taken;
    this.root = element(
      'section',
      { class: 'findings', 'aria-labelledby': 'findings-head' },
      element('h2', { id: 'findings-head' }, 'Findings'),
      this.#none,
      this.#list,
    );
  }

  /** Shows the findings of a task; those of the lit leg are marked. */
  show(findings: readonly FlightViewFinding[], lit: number | null): void {
    this.#none.hidden = findings.length > 0;
    this.#list.hidden = findings.length === 0;
    matchChildren(
      this.#list,
      findings,
      () => element('li', {}, element('span', { class: 'severity' }), lineButton(this.#taken)),
      (item, { severity, message, line, leg }) => {
        setAttribute(item, 'data-severity', severity);
        setAttribute(item, 'aria-current', leg !== null && leg === lit ? 'true' : null);
        setText(item.querySelector('.severity') as Element, SEVERITY[severity]);
        const button = item.querySelector('button') as HTMLButtonElement;
        setText(button, message);
        button.dataset['line'] = String(line);
      },
    );
  }
}
