/** The documents of the race: for each language a text of any length with one lasting mistake, and what is typed into it. */

/** `insert` is typed just behind a match of `behind`, on a line chosen by chance, and deleted again. */
export interface Typing {
  readonly behind: RegExp;
  readonly insert: string;
}

export interface Documents {
  readonly languageId: string;
  readonly fileName: string;
  /** Files beside the document. */
  readonly files: Readonly<Record<string, string>>;
  /** Exactly so many lines, one of which holds a mistake: so an unchanged answer is told from an empty one. */
  make(lines: number): string;
  /** Changes no finding. */
  readonly benign: readonly Typing[];
  /** Changes the findings. */
  readonly breaking: readonly Typing[];
  /** Behind a match of these, hover and completion are asked for. */
  readonly hover: RegExp;
  readonly completion: RegExp;
}

/** Blocks between a head and a tail, filled up with lines that say nothing. */
function filled(
  lines: number,
  head: readonly string[],
  block: (index: number) => readonly string[],
  filler: string,
  tail: readonly string[] = [],
): string {
  const made = [...head];
  for (let i = 0; ; i++) {
    const next = block(i);
    if (made.length + next.length > lines - tail.length) break;
    made.push(...next);
  }
  while (made.length < lines - tail.length) made.push(filler);
  return `${[...made, ...tail].join('\n')}\n`;
}

const degrees = (value: number) => value.toFixed(4);
/** Points some 7 km apart, fifty in a row from south to north. */
const place = (i: number) => `${degrees(45 + (i % 50) * 0.06)} N ${degrees(10 + Math.floor(i / 50) * 0.09)} E`;

const CLUB = [
  'aircraft Finch',
  '  best glide   32:1 at 49 kt',
  '  minimum sink 1.3 kt at 41 kt',
  '  polar mass   310 kg',
  '  empty mass   225 kg',
  '  maximum mass 340 kg',
  '  vs           34 kt',
  '  vne          115 kt',
  'weather Day',
  '  qnh         1018 hPa',
  '  temperature 24 °C at 190 m MSL',
  '  wind        surface from 230° at 8 kt',
  '  wind        3000 ft MSL from 245° at 14 kt',
  '  wind        6000 ft MSL from 255° at 18 kt',
  '  lift        3 kt to 6000 ft MSL',
  'reserve Training',
  '  arrive      1000 ft AGL',
  '  performance 70 %',
];

const fieldOf = (i: number) => [
  `field P${i} at ${place(i)}`,
  `  elevation ${100 + (i % 300)} m`,
  '  runway 09/27 700 m',
  `  note "place ${i}"`,
];

/** A task over three fields, out and back in three legs of some 20 km, 13 km and 7 km. */
const taskOf = (i: number, first: number) => [
  `task "Round ${i}"`,
  '  aircraft Finch with pilot 82 kg',
  '  weather  Day',
  '  reserve  Training',
  `  note     "place of task ${i}"`,
  `  start    P${first} at 5000 ft MSL`,
  '  climb    to 5900 ft MSL',
  `  turn     P${first + 3}`,
  '  climb    to 5800 ft MSL',
  `  turn     P${first + 1}`,
  '  climb    to 5700 ft MSL',
  `  finish   P${first}`,
];

const TASK_EVERY = 75;

/** Task plans: what a club flies with, fields, and a task for every 75 of them (every 300 lines). */
export const taskplan: Documents = {
  languageId: 'taskplan',
  fileName: 'main.taskplan',
  files: {},
  make: (lines) =>
    filled(
      lines,
      [...CLUB, 'field P0 at 47.2 N 19.2 E', '  elevation 200 furlongs'],
      (i) => (i % TASK_EVERY === 12 ? [...fieldOf(i + 1), ...taskOf(i, i - 8)] : fieldOf(i + 1)),
      '# nothing',
    ),
  benign: [{ behind: /^ {2}note +"place/, insert: 'x' }],
  breaking: [
    { behind: /^ {2}elevation (?=\d+ m$)/, insert: 'q' },
    { behind: /^ {2}climb {4}to \d{4}/, insert: '0' },
    { behind: /^ {2}turn {5}P/, insert: 'q' },
  ],
  hover: /^ {2}turn {5}P/,
  completion: /^ {2}turn {5}/,
};

/** A plan over a file of so many fields. */
export function overFields(fields: number): Documents {
  const points = Array.from({ length: fields }, (_, i) => fieldOf(i).slice(0, 3)).flat();
  return {
    ...taskplan,
    files: { 'fields.taskplan': `${points.join('\n')}\n` },
    make: (lines) =>
      filled(
        lines,
        ['use "fields.taskplan"', ...CLUB, 'field Odd at 47.2 N 19.2 E', '  elevation 200 furlongs'],
        (i) => taskOf(i, 10 + 20 * i),
        '# nothing',
      ),
    breaking: taskplan.breaking.slice(1),
  };
}

const KINDS = ['alpha', 'beta', 'gamma'];
const SCHEMA = JSON.stringify({
  type: 'object',
  properties: {
    items: {
      type: 'array',
      items: {
        type: 'object',
        description: 'An item',
        required: ['name', 'kind', 'x'],
        properties: {
          name: { type: 'string', description: 'Name of the item' },
          kind: { enum: KINDS, description: 'Kind of item' },
          x: { type: 'number', description: 'A number' },
          tags: { type: 'array', items: { type: 'string' } },
        },
      },
    },
  },
});

const kindOf = (i: number) => (i === 2 ? 'WRONG' : KINDS[i % 3]);

export const json: Documents = {
  languageId: 'json',
  fileName: 'main.json',
  files: { 'schema.json': SCHEMA },
  make: (lines) =>
    filled(
      lines,
      ['{', '  "$schema": "./schema.json",', '  "items": ['],
      (i) => [
        '    {',
        `      "name": "item ${i}",`,
        `      "kind": "${kindOf(i)}",`,
        `      "x": ${(i * 7) % 1000}.5,`,
        '      "tags": ["a", "b"]',
        '    },',
      ],
      '',
      ['    { "name": "last", "kind": "beta", "x": 1 }', '  ]', '}'],
    ),
  benign: [{ behind: /"name": "item/, insert: 'x' }],
  breaking: [
    { behind: /"x": (?=\d)/, insert: 'q' },
    { behind: /"kind": "(?=[a-z])/, insert: 'q' },
  ],
  hover: /"kin/,
  completion: /"kind": "/,
};

/** The same for a server that knows the syntax alone. */
export const jsonSyntax: Documents = {
  ...json,
  breaking: [
    { behind: /"x": (?=\d)/, insert: 'q' },
    { behind: /"tags": \[/, insert: ',' },
  ],
};

export const yaml: Documents = {
  languageId: 'yaml',
  fileName: 'main.yaml',
  files: { 'schema.json': SCHEMA },
  make: (lines) =>
    filled(
      lines,
      ['# yaml-language-server: $schema=./schema.json', 'items:'],
      (i) => [`  - name: item ${i}`, `    kind: ${kindOf(i)}`, `    x: ${(i * 7) % 1000}.5`, '    tags: [a, b]'],
      '# nothing',
    ),
  benign: [{ behind: /- name: item/, insert: 'x' }],
  breaking: [
    { behind: /x: (?=\d)/, insert: 'q' },
    { behind: /kind: (?=[a-z])/, insert: 'q' },
  ],
  hover: /^ {4}kin/,
  completion: /kind: /,
};

export const dockerfile: Documents = {
  languageId: 'dockerfile',
  fileName: 'Dockerfile',
  files: {},
  make: (lines) =>
    filled(
      lines,
      ['FROM node:20 AS base', 'EXPOSE abcde'],
      (i) => [
        `# stage ${i}`,
        `FROM node:20 AS s${i}`,
        `ENV KEY${i}=value`,
        `RUN echo "building ${i}" && true`,
        `COPY --from=base /a${i} /b${i}`,
        'EXPOSE 8080',
      ],
      '# nothing',
    ),
  benign: [{ behind: /^RUN echo "building/, insert: 'x' }],
  breaking: [
    { behind: /^RU/, insert: 'q' },
    { behind: /^EXPOSE (?=\d)/, insert: 'q' },
  ],
  hover: /^ENV? /,
  completion: /^E/,
};

export const shell: Documents = {
  languageId: 'shellscript',
  fileName: 'main.sh',
  files: {},
  make: (lines) =>
    filled(
      lines,
      ['#!/bin/bash', 'unused_thing=1'],
      (i) => [
        `# step ${i}`,
        `step_${i}() {`,
        '  local v="$1"',
        `  if [ "$v" = "x${i}" ]; then`,
        `    echo "value $v of ${i}"`,
        '  fi',
        '}',
        `step_${i} "x${i}"`,
      ],
      '# nothing',
    ),
  benign: [{ behind: /^# step/, insert: 'x' }],
  breaking: [
    { behind: /^ {2}if \[ /, insert: '(' },
    { behind: /^ {4}echo "value/, insert: '"' },
  ],
  hover: /^step_\d/,
  completion: /^ {4}ech/,
};

export const python: Documents = {
  languageId: 'python',
  fileName: 'main.py',
  files: {},
  make: (lines) =>
    filled(
      lines,
      ['import math', 'bad: int = "text"'],
      (i) => [
        `# step ${i}`,
        `def f_${i}(a: float, b: float = ${i}.0) -> float:`,
        `    total = a * ${i} + b`,
        '    return math.sqrt(total)',
        `v_${i} = f_${i}(1.0, b=2.0)`,
        '',
      ],
      '# nothing',
    ),
  benign: [{ behind: /^# step/, insert: 'x' }],
  breaking: [
    { behind: /^ {4}return ma/, insert: 'q' },
    { behind: /^ {4}total = /, insert: 'q' },
  ],
  hover: /^v_\d+ = f_/,
  completion: /^ {4}return math\./,
};

export const typescript: Documents = {
  languageId: 'typescript',
  fileName: 'main.ts',
  files: {
    'tsconfig.json': '{"compilerOptions":{"strict":true,"target":"es2022","module":"esnext"},"include":["*.ts"]}',
  },
  make: (lines) =>
    filled(
      lines,
      ['export const bad: number = "text";'],
      (i) => [
        `// step ${i}`,
        `export function f_${i}(a: number, b = ${i}): number {`,
        `  const total = a * ${i} + b;`,
        '  return Math.sqrt(total);',
        '}',
        `export const v_${i} = f_${i}(1, 2);`,
      ],
      '// nothing',
    ),
  benign: [{ behind: /^\/\/ step/, insert: 'x' }],
  breaking: [
    { behind: /^ {2}return Ma/, insert: 'q' },
    { behind: /^ {2}const total = /, insert: 'q' },
  ],
  hover: /^export const v_\d+ = f_/,
  completion: /^ {2}return Math\./,
};

export const graphql: Documents = {
  languageId: 'graphql',
  fileName: 'main.graphql',
  files: {
    'schema.gql':
      'type Query { item(id: ID!): Item items: [Item!]! }\ntype Item { id: ID! name: String kind: Kind x: Float tags: [String!] owner: Item }\nenum Kind { ALPHA BETA GAMMA }\n',
    '.graphqlrc.json': '{"schema":"schema.gql","documents":"*.graphql"}',
  },
  make: (lines) =>
    filled(
      lines,
      ['query Bad { item(id: 1) { nosuch } }'],
      (i) => [`# step ${i}`, `query Q_${i} {`, `  item(id: ${i}) {`, '    name', '    owner { kind x }', '  }', '}'],
      '# nothing',
    ),
  benign: [{ behind: /^# step/, insert: 'x' }],
  breaking: [
    { behind: /^ {4}nam/, insert: 'q' },
    { behind: /^ {2}item\(id: \d+/, insert: '(' },
  ],
  hover: /^ {4}na/,
  completion: /^ {4}owner \{ k/,
};

export const prisma: Documents = {
  languageId: 'prisma',
  fileName: 'main.prisma',
  files: {},
  make: (lines) =>
    filled(
      lines,
      [
        'generator client {',
        '  provider = "prisma-client-js"',
        '}',
        'datasource db {',
        '  provider = "postgresql"',
        '}',
        'model Bad {',
        '  id Int @id',
        '  y  NoSuchType',
        '}',
      ],
      (i) => [
        `// step ${i}`,
        `model M${i} {`,
        '  id   Int    @id',
        '  name String',
        `  kind String @default("k${i}")`,
        '  x    Float?',
        '}',
      ],
      '// nothing',
    ),
  benign: [{ behind: /^\/\/ step/, insert: 'x' }],
  breaking: [
    { behind: /^ {2}name Str/, insert: 'q' },
    { behind: /^ {2}x {4}Fl/, insert: 'q' },
  ],
  hover: /^model M/,
  completion: /^ {2}name S/,
};
