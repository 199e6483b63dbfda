/** What the editor tests open, what they expect to see there, and where in the workbench they look for it. */

/** The plan that is opened, in a copy of samples/. It holds a leg home that arrives below the reserve. */
export const PLAN = 'plans/leg-home.taskplan';

/** The squiggle of the finding that the plan holds on purpose, and what a hover over it says. */
export const FINDING = { severity: 'error', code: 'below-reserve', hover: /below reserve/ } as const;

/** A lens above the plan's lines. */
export const LENS = /\S/;

/** A token on an itinerary line, and what a hover over it says. */
export const ITINERARY = { token: 'finish', hover: /required|needed|at least/i };

/** What is typed on a new line at the end of the plan, and the severity of the squiggle that it must raise. */
export const MISTAKE = { text: 'trun Nowhere', severity: 'error' } as const;

/** A hint behind a line of the itinerary. */
export const HINT = /margin [+−][\d,]+ ft/;

/** What is typed to have a turnpoint completed, the proposal that is taken, and the line that it leaves. */
export const COMPLETION = { typed: 'turn Wit', row: 'Withy Bridge', line: /turn +"Withy Bridge"/ } as const;

/** The fix that is taken for the finding. */
export const FIX = /75 kt|climb|leave|fly/i;

/** The field that is renamed, in the plan and in the file that defines it, and what it is called then. */
export const RENAME = { field: 'Larkfield', to: 'Larkhill', files: [PLAN, 'club/fields.taskplan'] } as const;

/** What a rule's page says. */
export const PAGE = { tab: 'below-reserve', text: /reserve/i };

/** What the editor says when the server died. */
export const DIED = /It is being started again/;

export const SELECTORS = {
  ready: '.monaco-workbench .part.statusbar .statusbar-item',
  editor: '.editor-group-container.active .editor-instance .monaco-editor',
  line: '.view-line',
  squiggle: (severity: string) => `.squiggly-${severity}`,
  lens: '.codelens-decoration',
  hover: '.monaco-hover:not(.hidden) .monaco-hover-content',
  activeTab: '.tabs-container .tab.active',
  notification: '.notification-toast',
  quickInput: '.quick-input-widget input',
  quickRow: '.quick-input-list .monaco-list-row',
  rowLabel: '.label-name',
  find: '.find-widget.visible .find-part textarea',
  suggestion: '.suggest-widget.visible .monaco-list-row',
  action: '.action-widget .monaco-list-row.action',
  dirty: '.tabs-container .tab.dirty',
  renameInput: '.rename-box input',
};

/** The views beside the text: how they are opened, and what they show of the plan. */
export const VIEWS = {
  tab: 'leg-home.taskplan',
  flight: { command: 'Legwise: Open the flight view', text: /least margin −320 ft/ },
  leg: { row: '2 Withy Bridge', line: '27' },
  /** Behind the height from which the leg home is flown. */
  height: { before: 'to 5400' },
  whatIf: {
    command: 'Legwise: What if…',
    wind: 'All winds times',
    times: '1.4',
    on: /What-if, not written/,
    off: /Nothing is changed/,
    write: 'Write these into the plan',
    line: /from 230° at 8\.4 kt/,
  },
  sheet: {
    command: 'Legwise: Show the briefing sheet',
    text: /Late Home/,
    print: 'Legwise: Print the briefing sheet',
    how: /printed from a browser/,
  },
} as const;

export const THEMES = [
  { name: 'dark', setting: 'Dark 2026', workbench: '.monaco-workbench.vs-dark' },
  { name: 'light', setting: 'Light 2026', workbench: '.monaco-workbench.vs' },
];
