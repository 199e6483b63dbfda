// Holds the sources to the order of the stages (see STAGES): which stage may import which, what the pure core may not
// touch, and no import cycles. It reads tokens, not the output of a bundler, because a bundler drops `import type`, and
// a type from a later stage ties the stages together as much as a value does.
//
//   node .dev/layering.mjs [ROOT]           one line for each breach, exit 1 when there is any
//   node .dev/layering.mjs --list [ROOT]    every import between two of our files, as `from -> to`
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

/** What each stage may import of ours, besides itself. */
const STAGES = {
  grammar: [],
  'server/flight': [],
  'server/plan': ['grammar', 'server/flight'],
  'server/rules': ['grammar', 'server/flight', 'server/plan'],
  'server/features': ['grammar', 'server/flight', 'server/plan', 'server/rules'],
  'server/reports': ['grammar', 'server/flight', 'server/plan', 'server/rules'],
  server: ['grammar', 'server/flight', 'server/plan', 'server/rules', 'server/features', 'server/reports'],
  client: ['grammar', 'server/flight', 'server/plan', 'server/rules', 'server/features', 'server/reports'],
};
const PURE = new Set(['grammar', 'server/flight', 'server/plan', 'server/rules', 'server/features', 'server/reports']);

const BUILTIN = new Set(
  'assert async_hooks buffer child_process cluster console constants crypto dgram dns events fs http http2 https inspector module net os path perf_hooks process querystring readline stream string_decoder timers tls tty url util v8 vm worker_threads zlib'.split(
    ' ',
  ),
);
/** Protocol packages that are plain data, as opposed to those that hold a connection. */
const isConnection = (name) =>
  /^vscode(-|$)/.test(name) && !/^vscode-(languageserver-(types|textdocument)|uri)$/.test(name);
const AMBIENT = new Set([
  'process',
  'globalThis',
  'console',
  'fetch',
  'setTimeout',
  'setInterval',
  'setImmediate',
  'queueMicrotask',
  'require',
]);

const KEYWORD_BEFORE_REGEX = new Set(
  'return typeof instanceof in of new delete void throw case do else yield await default extends'.split(' '),
);

/** Splits TypeScript into tokens { text, kind: word|string|mark|regex|number, line }; comments and white space are dropped. */
export function tokens(source) {
  const out = [];
  const templates = []; // for each open `${`, how many braces are open inside it
  let at = 0;
  let line = 1;
  const push = (kind, text) => out.push({ kind, text, line });
  const advance = (to) => {
    for (; at < to; at++) if (source[at] === '\n') line++;
  };
  const template = () => {
    // from just after ` or } to just after the closing ` or the next ${
    let end = at;
    while (end < source.length && source[end] !== '`' && !(source[end] === '$' && source[end + 1] === '{')) {
      end += source[end] === '\\' ? 2 : 1;
    }
    push('string', source.slice(at, end));
    if (source[end] === '$') {
      templates.push(0);
      advance(end + 2);
    } else advance(end + 1);
  };
  const regexMayStart = () => {
    const last = out.at(-1);
    if (!last) return true;
    if (last.kind === 'mark') return last.text !== ')' && last.text !== ']' && last.text !== '}';
    return last.kind === 'word' && KEYWORD_BEFORE_REGEX.has(last.text);
  };
  while (at < source.length) {
    const c = source[at];
    const rest = source.slice(at, at + 2);
    if (/\s/.test(c)) advance(at + 1);
    else if (rest === '//' || (rest === '#!' && at === 0)) {
      const end = source.indexOf('\n', at);
      advance(end < 0 ? source.length : end);
    } else if (rest === '/*') {
      const end = source.indexOf('*/', at + 2);
      advance(end < 0 ? source.length : end + 2);
    } else if (c === '"' || c === "'") {
      let end = at + 1;
      while (end < source.length && source[end] !== c && source[end] !== '\n') end += source[end] === '\\' ? 2 : 1;
      push('string', source.slice(at + 1, end));
      advance(end + 1);
    } else if (c === '`') {
      advance(at + 1);
      template();
    } else if (c === '}' && templates.at(-1) === 0) {
      templates.pop();
      advance(at + 1);
      template();
    } else if (c === '/' && regexMayStart()) {
      let end = at + 1;
      for (let inClass = false; end < source.length && source[end] !== '\n'; end++) {
        if (source[end] === '\\') end++;
        else if (source[end] === '[') inClass = true;
        else if (source[end] === ']') inClass = false;
        else if (source[end] === '/' && !inClass) break;
      }
      push('regex', source.slice(at, end + 1));
      advance(end + 1);
      while (/[a-z]/.test(source[at] ?? '')) at++;
    } else if (/[\p{L}_$#@]/u.test(c)) {
      const word = /[\p{L}\p{N}_$#@]+/uy;
      word.lastIndex = at;
      const text = word.exec(source)?.[0] ?? c;
      push('word', text);
      at += text.length;
    } else if (/[0-9]/.test(c)) {
      const text = /^[\w.]+/.exec(source.slice(at, at + 80))?.[0] ?? c;
      push('number', text);
      at += text.length;
    } else {
      if (templates.length > 0 && c === '{') templates[templates.length - 1]++;
      if (templates.length > 0 && c === '}') templates[templates.length - 1]--;
      const mark = rest === '?.' || rest === '=>' ? rest : c;
      push('mark', mark);
      at += mark.length;
    }
  }
  return out;
}

/** Every module that a file names: imports and re-exports, of values and of types, and `import("…")`. */
function importsOf(list) {
  const found = [];
  list.forEach((token, i) => {
    if (token.kind !== 'word' || (token.text !== 'import' && token.text !== 'export')) return;
    const next = list[i + 1];
    if (list[i - 1]?.text === '.') return;
    if (token.text === 'import' && next?.kind === 'string') found.push({ to: next.text, line: next.line });
    else if (token.text === 'import' && next?.text === '(') {
      if (list[i + 2]?.kind === 'string') found.push({ to: list[i + 2].text, line: list[i + 2].line });
    } else if (token.text === 'import' ? next?.text !== '.' : /^([{*]|type)$/.test(next?.text ?? '')) {
      // The clause between the keyword and `from` is names, commas, braces and `*`; anything else ends it.
      for (let j = i + 1; j < list.length; j++) {
        const { kind, text } = list[j];
        if (text === 'from' && list[j + 1]?.kind === 'string') {
          found.push({ to: list[j + 1].text, line: list[j + 1].line });
          break;
        }
        if (!(kind === 'word' || text === ',' || text === '{' || text === '}' || text === '*')) break;
      }
    }
  });
  return found;
}

/** Uses of the clock, the environment or the outside world. */
function worldOf(list) {
  const found = [];
  list.forEach((token, i) => {
    if (token.kind !== 'word') return;
    const before = list[i - 1]?.text;
    const after = list[i + 1]?.text;
    const say = (what) => found.push({ what, line: token.line });
    if (before === '.' || before === '?.') return;
    if (AMBIENT.has(token.text)) {
      const isKey =
        after === ':' &&
        (before === '{' || before === ',' || before === ';' || before === '(' || before === 'readonly');
      if (!isKey) say(token.text);
    } else if (token.text === 'Date' && after === '.' && list[i + 2]?.text === 'now') say('Date.now');
    else if (token.text === 'Date' && before === 'new' && (after !== '(' || list[i + 2]?.text === ')'))
      say('new Date()');
    else if (token.text === 'Date' && before !== 'new' && after === '(') say('Date()');
    else if (token.text === 'performance' && after === '.' && list[i + 2]?.text === 'now') say('performance.now');
    else if (token.text === 'Math' && after === '.' && list[i + 2]?.text === 'random') say('Math.random');
  });
  return found;
}

/** Folders that an entry point keeps its own parts in. */
const ENTRY_FOLDERS = new Set(['server/cli', 'server/node', 'server/worker']);

const stageOf = (file) => {
  const parts = file.split('/');
  if (parts[0] !== 'server') return parts[0];
  const folder = `server/${parts[1]}`;
  return parts.length === 2 || ENTRY_FOLDERS.has(folder) ? 'server' : folder;
};

function sourceFiles(root) {
  const files = [];
  const walk = (folder) => {
    for (const entry of readdirSync(path.join(root, folder), {
      withFileTypes: true,
    })) {
      const file = `${folder}/${entry.name}`;
      if (entry.isDirectory()) walk(file);
      else if (/\.ts$/.test(entry.name)) files.push(file);
    }
  };
  for (const folder of ['grammar', 'server', 'client']) if (existsSync(path.join(root, folder))) walk(folder);
  return files.sort();
}

/** Groups of files that import each other, each as one path that ends where it starts. */
function cycles(edges) {
  const found = [];
  const state = new Map(); // file → 'open' while it is on the path, 'done' after
  const trail = [];
  const visit = (file) => {
    state.set(file, 'open');
    trail.push(file);
    for (const { to, line } of edges.get(file) ?? []) {
      if (state.get(to) === 'open')
        found.push({
          file,
          line,
          trail: [...trail.slice(trail.indexOf(to)), to],
        });
      else if (!state.has(to)) visit(to);
    }
    trail.pop();
    state.set(file, 'done');
  };
  for (const file of edges.keys()) if (!state.has(file)) visit(file);
  return found;
}

/** Reads the sources under ROOT; returns the imports between them and the breaches of the order. */
export function examine(root) {
  const breaches = [];
  const edges = new Map();
  const breach = (file, line, what) => breaches.push({ file, line, what });
  for (const file of sourceFiles(root)) {
    const stage = stageOf(file);
    const list = tokens(readFileSync(path.join(root, file), 'utf8'));
    const targets = [];
    edges.set(file, targets);
    if (!(stage in STAGES)) breach(file, 1, `${stage} is no known stage`);
    for (const { to, line } of importsOf(list)) {
      if (to.startsWith('.')) {
        const target = path.posix.join(path.posix.dirname(file), to);
        const other = stageOf(target);
        targets.push({ to: target, line });
        const isVersion = target === 'package.json' && !PURE.has(stage); // where the version is written
        if (stage in STAGES && other !== stage && !isVersion && !STAGES[stage].includes(other)) {
          breach(
            file,
            line,
            `${stage} imports ${target}${other in STAGES ? `, of ${other}` : ', which is outside the stages'}`,
          );
        }
      } else if (PURE.has(stage)) {
        const name = to
          .split('/')
          .slice(0, to.startsWith('@') ? 2 : 1)
          .join('/');
        if (to.startsWith('node:') || BUILTIN.has(name)) breach(file, line, `${stage} imports ${to}, of Node`);
        else if (isConnection(name))
          breach(file, line, `${stage} imports ${to}, which knows a connection or an editor`);
      }
    }
    if (PURE.has(stage)) for (const { what, line } of worldOf(list)) breach(file, line, `${stage} uses ${what}`);
  }
  for (const { file, line, trail } of cycles(edges)) breach(file, line, `import cycle: ${trail.join(' -> ')}`);
  return { edges, breaches };
}

if (process.argv[1] && fileURLToPath(import.meta.url) === path.resolve(process.argv[1])) {
  const args = process.argv.slice(2);
  const list = args[0] === '--list';
  const root = path.resolve(args[list ? 1 : 0] ?? path.join(path.dirname(fileURLToPath(import.meta.url)), '..'));
  const { edges, breaches } = examine(root);
  if (list) {
    for (const [file, targets] of edges) for (const { to } of targets) console.log(`${file} -> ${to}`);
  } else {
    for (const { file, line, what } of breaches) console.log(`${file}:${line} ${what}`);
    if (breaches.length > 0) process.exitCode = 1;
    else console.error(`layering: ${edges.size} files keep the order`);
  }
}
