/** What the editor tests open, what they expect to see there, and where in the workbench they look for it. */

/** The plan that is opened, in a copy of samples/. It holds a leg home that arrives below the reserve. */
export const PLAN = 'plans/leg-home.taskplan';

/** The squiggle of the finding that the plan holds on purpose, and what a hover over it says. */
export const FINDING = { severity: 'error', code: 'below-reserve', hover: /below reserve/ } as const;

/** A lens above the plan's lines. */
export const LENS = /\S/;

/** A token on an itinerary line, and what a hover over it says. */
export const ITINERARY = { token: /^\s*turn\s*$/, hover: /required|needed|at least/i };

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
export const PAGE = { tab: 'below-reserve', text: /What\sit\smeans/ };

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
  tab: '.tabs-container .tab',
  sideBar: '.part.sidebar',
  notification: '.notification-toast',
  quickInput: '.quick-input-widget input',
  quickTitle: '.quick-input-title',
  quickFocused: '.quick-input-list .monaco-list-row.focused .label-name',
  status: '[id="status.languageStatus"]',
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
  /** What is said of a place on the drawing, and of one on the second leg. */
  place: { numbers: /\d ft/, second: /leg 2|Withy Bridge/i },
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
    save: 'Legwise: Save the briefing sheet as PDF',
    pdf: 'plans/leg-home.pdf',
    saved: /The sheet is saved as leg-home\.pdf/,
  },
} as const;

/** A plan made by questions: each with the row that is chosen or the text that is written, and what comes of it. */
export const NEW_PLAN = {
  command: 'Legwise: New plan',
  answers: [
    { title: /start$/, row: 'Larkfield' },
    { title: /start height/, text: '3200 ft MSL' },
    { title: /turnpoint 1/, row: 'Withy Bridge' },
    { title: /turnpoint 2/, row: 'No more' },
    { title: /finish/, row: 'Larkfield' },
    { title: /aircraft/, row: 'Finch' },
    { title: /pilot/, text: '82 kg' },
    { title: /weather/, row: 'Saturday' },
    { title: /reserve/, row: 'Training' },
    { title: /limits/, row: 'Solo' },
    { title: /take-off/, text: '12:00Z' },
    { title: /name/, text: 'Asked For' },
  ],
  file: 'plans/asked-for.taskplan',
  shows: /margin \+/,
  lines: [/^ {2}turn +"Withy Bridge"$/m, /^ {2}limits +Solo$/m, /^ {2}finish +Larkfield$/m],
} as const;

/** A club made by questions in an empty folder. */
export const NEW_CLUB = {
  command: 'Legwise: New club',
  answers: [
    { title: /1\/4/, text: 'Larkfield' },
    { title: /2\/4/, text: '47.2031 N 19.4410 E' },
    { title: /3\/4/, text: '190 m' },
    { title: /4\/4/, text: '18/36 900 m surface grass' },
  ],
  tab: 'fleet.taskplan',
  shows: /^aircraft /m,
  files: ['club/fields.taskplan', 'club/fleet.taskplan', 'club/rules.taskplan'],
  home: { file: 'club/fields.taskplan', line: /^field Larkfield at 47\.2031 N 19\.4410 E$/m },
} as const;

/** The walkthrough: the titles of its steps, and how what their pictures show begins in words. */
export const WALKTHROUGH = {
  title: 'Plan a glider task',
  steps: [
    { title: 'Make a plan', alt: 'The command asks' },
    { title: 'Read the heights', alt: 'A plan in the editor' },
    { title: 'Mend what is wrong', alt: 'A hover over the leg home' },
    { title: 'See it, have it reviewed, carry it', alt: 'The sheet of a task' },
  ],
} as const;

/** The task, and a finding of a plan that nobody has open. */
export const TASK = {
  type: 'legwise',
  name: 'legwise: check the plans',
  source: 'legwise check',
  problem: /limit-within/,
} as const;

/** An edit, and what it means in the air since the last commit. */
export const SINCE = {
  command: 'Legwise: Compare with the last commit',
  behind: 'to 54',
  typed: '8',
  line: /to 5800 ft MSL/,
  text: /Since commit [0-9a-f]{8}[\s\S]*leg 4/i,
} as const;

/** What the language status of the plan says. */
export const STATUS = /least margin −320 ft on leg 4 to Larkfield/;

/** A folder that is not trusted: the editor says so, and what runs another program is refused. */
export const RESTRICTED = {
  said: /Restricted Mode/,
  compare: 'Legwise: Compare with the last commit',
  refused: /not trusted/,
} as const;

export const THEMES = [
  { name: 'dark', setting: 'Dark 2026', workbench: '.monaco-workbench.vs-dark' },
  { name: 'light', setting: 'Light 2026', workbench: '.monaco-workbench.vs' },
  { name: 'contrast', setting: 'Default High Contrast', workbench: '.monaco-workbench.hc-black' },
  { name: 'contrast-light', setting: 'Default High Contrast Light', workbench: '.monaco-workbench.hc-light' },
];
