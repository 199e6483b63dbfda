// Leaves out of a bundle what is in it and never runs: the parts of libraries that the programs do not use, and what is
// made once, here, in place of at every start.
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { runInNewContext } from 'node:vm';

/** What sources of ours come to, by the text of a module that puts it into `globalThis.made`. */
export async function made(esbuild, root, contents) {
  const { outputFiles } = await esbuild.build({
    absWorkingDir: root,
    stdin: { contents, resolveDir: root },
    bundle: true,
    format: 'iife',
    platform: 'browser',
    mainFields: ['module', 'main'],
    write: false,
    logLevel: 'warning',
  });
  const world = { console, TextEncoder, TextDecoder, URL };
  runInNewContext(outputFiles[0].text, world);
  return world.made;
}

/** The names that a module exports, as it would in place of those that FILE has; using one is an error. */
async function absent(file) {
  const names = Object.keys(await import(pathToFileURL(file).href)).filter((name) => name !== 'default');
  return `class Absent { constructor() { throw new Error('left out of the bundle: ${path.basename(file)}') } }
${names.map((name) => `export { Absent as ${name} };`).join('\n')}`;
}

/** A text with other words for what a pattern finds, which has to be there. */
function replaced(file, text, pattern, words) {
  const now = text.replace(pattern, words);
  if (now === text) throw new Error(`${file} is another than the one that is known here`);
  return now;
}

/** A text without what a pattern finds. */
const cut = (file, text, pattern) => replaced(file, text, pattern, '');

/** Modules that analyse and validate a grammar, and what goes through its rules when a token is missing inside one. */
const GRAMMAR_MADE =
  /node_modules[\\/](?:chevrotain[\\/]lib[\\/]src[\\/](?:parse[\\/](?:cst[\\/]cst_visitor|errors_public|grammar[\\/](?:checks|first|follow|interpreter|llk_lookahead|lookahead|resolver|rest|gast[\\/]gast_resolver_public))|diagrams[\\/]render_public|scan[\\/]reg_exp)|@chevrotain[\\/](?:gast|regexp-to-ast|cst-dts-gen)[\\/]lib[\\/]src[\\/]api)\.js$/;

/** And other modules of it, with what is still asked of them. */
const INSTEAD = {
  reg_exp_parser: 'export const getRegExpAst = undefined; export function clearRegExpParserCache() {}',
  gast_recorder: 'export class GastRecorder { initGastRecorder() { this.RECORDING_PHASE = false; } }',
  looksahead: `export class LooksAhead {
  initLooksAhead({ maxLookahead }) {
    this.maxLookahead = maxLookahead;
    this.lookAheadFuncsCache = [];
    this.currRuleLookaheadFuncs = [];
  }
}`,
  perf_tracer: 'export class PerformanceTracer { initPerformanceTracer() {} TRACE_INIT(phase, run) { return run(); } }',
};

/** Methods of the parser and the lexer for what the grammar has none of, by the file: repetitions, and where nodes stand. */
const UNUSED = {
  parser: /performSelfAnalysis|static performSelfAnalysis/,
  recognizer_api:
    /(?:CONSUME|SUBRULE|OPTION|OR|MANY|MANY_SEP|AT_LEAST_ONE|AT_LEAST_ONE_SEP)\d?|many|atLeastOne|BACKTRACK|OVERRIDE_RULE|getGAstProductions|getSerializedGastProductions/,
  recognizer_engine:
    /atLeastOne\w*|many\w*|repetitionSepSecondInternal|doSingleRepetition|saveRecogState|reloadRecogState/,
  recoverable:
    /tryInRepetitionRecovery|shouldInRepetitionRecoveryBeTried|getNextPossibleTokenTypes|getFollowsForInRuleRecovery|can\w+Recovery|canRecoverWith\w+|getCurrentGrammarPath|getTokenToInsert/,
  // What builds nodes is our parser's own.
  tree_builder:
    /setInitialNodeLocation\w+|cstPostRule(?:Full|OnlyOffset)|getBaseCst\w+|cstInvocationStateUpdate|cstPost(?:Non)?Terminal/,
  error_handler: /raise\w+/,
  lexer_public: /create(?:StartOnly|Full)Token|updateTokenEndLineColumnLocation|addTokenUsingMemberAccess/,
};

const methods = (names) => new RegExp(`^ {4}(?:${names.source})\\(.*\\) \\{\\n(?:(?: {5,}.*)?\\n)*? {4}\\}\\n`, 'gm');

/** And functions: those of the lexer say what is wrong with it, which a test asks. */
const UNUSED_FUNCTIONS =
  /^(?:export )?function (validatePatterns|performRuntimeChecks|performWarningRuntimeChecks|checkLineBreaksIssues|getAsciiClass|attemptInRepetitionRecovery)\(/gm;

/** What tells a developer that the lexer will be slow, and why. */
const SLOWNESS_TOLD = /^( +)if \(options\.ensureOptimizations\) \{\n(?:\1 .*\n)*\1\}\n/gm;

/** A block of a method that begins so; the indentation is its first group. */
const block = (begins) => new RegExp(`^( +)${begins.source}\\n(?:\\1 .*\\n)*\\1\\}(?:\\);)?\\n`, 'gm');

/** What looks at the lexer's definition and settings, what would be done about their faults, and how long each takes. */
const ABOUT_THE_LEXER = [
  /if \(this\.config\.skipValidations === false\) \{/,
  /if \(this\.lexerDefinitionErrors\.length > 0(?: &&\n.*)?\) \{/,
  /if \(typeof config === "boolean"\) \{/,
  /if \(config\.safeMode && .*\) \{/,
  /else \{\n +if \(this\.config\.lineTerminatorCharacters ===/,
  /else if \(typeof traceInitVal === "number"\) \{/,
  /if \(traceInitVal === true\) \{/,
  /this\.lexerDefinitionWarning\.forEach\(\(\w+\) => \{/,
  /this\.TRACE_INIT\("Failed Optimization Warnings", \(\) => \{/,
].map(block);
const TIMED = /^( +)if \(this\.traceInitPerf === true\) \{\n(?:\1 .*\n)*\1\}\n\1else \{\n\1 +(.*)\n\1\}\n/m;

/** The parser with the analysis of its grammar made already, and of chevrotain what parses by it. */
const withGrammarMade = (esbuild, root) => ({
  name: 'grammar-made',
  setup: (build) => {
    let analysis;
    build.onLoad({ filter: /[\\/]grammar[\\/]analysed\.ts$/ }, async () => {
      analysis ??= await made(
        esbuild,
        root,
        `import { analyse, analysisOf } from './grammar/analysis.ts';
import { makeParser } from './grammar/parser.ts';
const found = analysisOf(makeParser(false));
if (JSON.stringify(analysisOf(makeParser(false, found))) !== JSON.stringify(found)) throw new Error('the analysis of the grammar cannot be kept');
globalThis.made = JSON.stringify(found);`,
      );
      return { contents: `export const ANALYSIS = ${analysis};`, loader: 'js' };
    });
    build.onLoad({ filter: GRAMMAR_MADE }, async ({ path: file }) => ({ contents: await absent(file), loader: 'js' }));
    const filter = /chevrotain[\\/]lib[\\/]src[\\/](?:parse[\\/]parser|scan)[\\/](?:traits[\\/])?\w+\.js$/;
    build.onLoad({ filter }, ({ path: file }) => {
      const name = path.basename(file, '.js');
      if (INSTEAD[name]) return { contents: INSTEAD[name], loader: 'js' };
      let text = readFileSync(file, 'utf8');
      if (UNUSED[name]) text = cut(file, text, methods(UNUSED[name]));
      if (name === 'lexer') text = cut(file, text, SLOWNESS_TOLD);
      if (name === 'lexer_public') {
        for (const part of ABOUT_THE_LEXER) text = cut(file, text, part);
        text = replaced(file, text, TIMED, '$1$2\n');
      }
      const contents = text.replace(UNUSED_FUNCTIONS, 'export function $1() {}\nfunction without_$1(');
      return { contents, loader: 'js' };
    });
  },
});

const JSON_RPC = /node_modules[\\/]vscode-jsonrpc[\\/]lib[\\/](?:common|browser|node)[\\/]\w+\.js$/;

/** What nobody asks of it, by the file: a log of all messages, which the client keeps; more than a queue; streams in a worker. */
const UNUSED_OF_JSON_RPC = {
  'common/connection': /^ {4}function (?:trace\w+|logLSPMessage|stringifyTrace)\(.*\) \{\n(?: {5,}.*\n)* {4}\}\n/gm,
  'common/linkedMap': methods(/forEach|keys|values|entries|trimOld|toJSON|fromJSON|before|after|remove/),
  'node/ril': /^ {4}crypto: Object\.freeze\(\{\n(?: {5,}.*\n)* {4}\}\),\n/m,
  'browser/ril':
    /^class MessageBuffer [\s\S]*?(?=^class QueueMicrotaskImpl)|^ {4}(?:messageBuffer|applicationJson|stream): Object\.freeze\(\{\n(?: {5,}.*\n)* {4}\}\),?\n/gm,
};

/** A module as the compiler of TypeScript prints it for CommonJS, as the module that it was: the bundler can then leave out what nobody uses. */
function asModule(file, text) {
  const from = new Map();
  const exported = [];
  const body = text
    .replace(/^"use strict";\n/, '')
    .replace(/^var __\w+ = \(this && this\.__\w+\) \|\| function[\s\S]*?^\};\n/gm, '')
    .replace(/^var __\w+ = \(this && this\.__\w+\) \|\| \([\s\S]*?^\}?\)+(?:\(\))?;\n/gm, '')
    .replace(/^Object\.defineProperty\(exports, "__esModule".*\n/m, '')
    .replace(/^(?:exports\.\w+ = )+void 0;\n/gm, '')
    .replace(/^const (\w+) = (?:__\w+\()?require\(("[^"]+")\)\)?;/gm, (_, name, path) => {
      from.set(name, path);
      return `import * as ${name} from ${path};`;
    })
    .replace(/^__exportStar\(require\(("[^"]+")\), exports\);/gm, 'export * from $1;')
    .replace(
      /^Object\.defineProperty\(exports, "(\w+)", \{ enumerable: true, get: function \(\) \{ return (\w+)\.(\w+); \} \}\);/gm,
      (_, name, module, inner) => `export { ${inner} as ${name} } from ${from.get(module)};`,
    )
    .replace(/^exports\.(\w+) = (\w+)(?:\.default)?;$/gm, (whole, name, local) => {
      if (whole.endsWith('.default;')) return `export { default as ${name} } from ${from.get(local)};`;
      exported.push(`${local} as ${name}`);
      return '';
    })
    .replace(/\(exports\.(\w+) = (\w+) = \{\}\)/g, (_, name, local) => {
      exported.push(`${local} as ${name}`);
      return `(${local} = {})`;
    })
    .replace(/^exports\.(\w+) = /gm, 'export const $1 = ')
    .replace(/\bexports\.(\w+)/g, '$1');
  if (/\b(?:exports|require)\b/.test(body.replace(/\/\/.*|\/\*[\s\S]*?\*\//g, '')))
    throw new Error(`${file} is printed in another way than it was`);
  return `${body}\nexport { ${[...new Set(exported)].join(', ')} };`;
}

/** Of the library for JSON-RPC what is used. */
const USED_OF_JSON_RPC = {
  name: 'used-of-json-rpc',
  setup: (build) =>
    build.onLoad({ filter: JSON_RPC }, ({ path: file }) => {
      const name = file.split(path.sep).slice(-2).join('/').replace('.js', '');
      const unused = UNUSED_OF_JSON_RPC[name];
      let text = readFileSync(file, 'utf8');
      if (unused) text = cut(file, text, unused);
      // A decoder is there without the module, all of whose names would be looked at in each start.
      if (name === 'node/ril')
        text = cut(file, replaced(file, text, /util_1\.(?=TextDecoder)/g, ''), /^const util_1 = require\("util"\);\n/m);
      if (name === 'common/connection')
        text = text.replace(/\b(?:trace(?:Sending|Received)\w+|logLSPMessage)\(/g, 'untraced(');
      const contents = asModule(file, text) + (name === 'common/connection' ? '\nfunction untraced() {}' : '');
      return { contents, loader: 'js' };
    }),
};

/** The tables of other planets than ours. */
const OTHER_PLANETS = /^ {4}(?:Mercury|Venus|Mars|Jupiter|Saturn|Uranus|Neptune): \[\n(?: {8,}.*\n)* {4}\],?\n/gm;

/** And what finds bodies that nobody flies by. */
const OTHER_BODIES =
  /^(?:export )?function (CalcPluto|GeoMoon|CalcSolarSystemBarycenter|HelioState|UserDefinedStar)\(/gm;

/** Of the almanac what finds the Sun. */
const SUN_ALONE = {
  name: 'sun-alone',
  setup: (build) =>
    build.onLoad({ filter: /astronomy-engine[\\/]esm[\\/]astronomy\.js$/ }, ({ path: file }) => {
      const contents = replaced(
        file,
        cut(file, readFileSync(file, 'utf8'), OTHER_PLANETS),
        OTHER_BODIES,
        'function $1() { return undefined; } function without_$1(',
      );
      return { contents, loader: 'js' };
    }),
};

/** Of the library for documents what changes them: nobody applies edits of ours to one, or asks where something stands. */
const DOCUMENTS_CHANGED = {
  name: 'documents-changed',
  setup: (build) =>
    build.onLoad({ filter: /vscode-languageserver-textdocument[\\/]lib[\\/]esm[\\/]main\.js$/ }, ({ path: file }) => ({
      contents: cut(
        file,
        cut(
          file,
          readFileSync(file, 'utf8'),
          methods(/positionAt|getLineRange|getEOLCharacters|get (?:uri|version|languageId|lineCount)/),
        ),
        /^ {4}function applyEdits\(.*\) \{\n(?: {5,}.*\n)* {4}\}\n {4}TextDocument\.applyEdits = applyEdits;\n/m,
      ),
      loader: 'js',
    })),
};

/** Of the library for URIs what joins paths and goes up them: the rest of Node's module for paths came with it. */
const PATHS_JOINED = {
  name: 'paths-joined',
  setup: (build) =>
    build.onLoad({ filter: /vscode-uri[\\/]lib[\\/]esm[\\/]index\.mjs$/ }, ({ path: file }) => {
      let text = readFileSync(file, 'utf8');
      for (const [first, behind] of [
        ['resolve', 'normalize'],
        ['relative', '_makeLong'],
        ['extname', 'sep'],
      ])
        text = cut(file, text, new RegExp(`(?<=[{,])${first}:function\\([^]*?(?<=,)(?=${behind}:)`));
      return { contents: text, loader: 'js' };
    }),
};

/** A text without the part of its own that ends with some words. */
function withoutPart(file, text, last) {
  const end = text.indexOf(last);
  const start = text.lastIndexOf('\n(function(', end);
  if (end < 0 || start < 0) throw new Error(`${file} is another than the one that is known here`);
  return text.slice(0, start) + text.slice(text.indexOf(';', end) + 1);
}

/** Of the library for geodesics all but areas, and lines that are given by angles. */
const NO_AREAS = {
  name: 'no-areas',
  setup: (build) => {
    build.onLoad({ filter: /geographiclib-geodesic[\\/]geographiclib-geodesic\.min\.js$/ }, ({ path: file }) => {
      const readable = file.replace('.min.js', '.js');
      let text = readFileSync(readable, 'utf8');
      for (const last of ['})(geodesic.PolygonArea,', '})(geodesic.Accumulator,'])
        text = withoutPart(readable, text, last);
      text = cut(readable, text, /^ {2}C4_coeff = \[[\s\S]*?\n {2}\];\n/m);
      text = cut(
        readable,
        text,
        /^ {2}[gl]\.\w+\.prototype\.(?:ArcDirect|ArcDirectLine|DirectLine|GenDirectLine|Polygon|ArcPosition) = [\s\S]*?\n {2}\};\n/gm,
      );
      text = replaced(readable, text, /(prototype\.C4coeff = function\(\) \{)[\s\S]*?\n {2}\};/, '$1};');
      return { contents: text, loader: 'js' };
    });
  },
};

/** Of the models of the magnetic field the one whose years a plan may be in (server/flight/variation.ts). */
const NEWEST_FIELD = {
  name: 'newest-field',
  setup: (build) =>
    build.onLoad({ filter: /geomagnetism[\\/]data[\\/]wmm-20(?:15|15v2|20)\.json$/ }, () => ({
      contents: '{}',
      loader: 'json',
    })),
};

/**
 * Of the package with the protocol's types a program needs the enumerations alone; what else it has are functions that
 * nothing here calls, and whose use would fail the build.
 */
const ENUMERATIONS_ALONE = {
  name: 'enumerations-alone',
  setup: (build) =>
    build.onLoad({ filter: /vscode-languageserver-types[\\/]lib[\\/]esm[\\/]main\.js$/ }, async ({ path: file }) => {
      const all = await import(pathToFileURL(file).href);
      const isPlain = (value) => typeof value === 'string' || typeof value === 'number';
      const enumerations = Object.entries(all).flatMap(([name, found]) => {
        const entries = typeof found === 'object' ? Object.entries(found).filter(([, value]) => isPlain(value)) : [];
        return entries.length > 0 ? [`export const ${name} = ${JSON.stringify(Object.fromEntries(entries))};`] : [];
      });
      return { contents: enumerations.join('\n'), loader: 'js' };
    }),
};

/** Of the index of places what is asked of it: boxes, and the tree itself. */
const BOXES_ALONE = {
  name: 'boxes-alone',
  setup: (build) =>
    build.onLoad({ filter: /[\\/]kdbush[\\/]index\.js$/ }, ({ path: file }) => ({
      contents: cut(file, readFileSync(file, 'utf8'), methods(/static from|within/)),
      loader: 'js',
    })),
};

/** Of what lists folders all but another library, for patterns that nobody gives it: where that stands it is loaded in each start. */
const FOLDERS_ALONE = {
  name: 'folders-alone',
  setup: (build) =>
    build.onLoad({ filter: /[\\/]fdir[\\/]dist[\\/]index\.mjs$/ }, ({ path: file }) => ({
      contents: cut(
        file,
        readFileSync(file, 'utf8'),
        /^try \{\n\s*__require\.resolve\("picomatch"\);\n.*\n\} catch \{\}\n/m,
      ),
      loader: 'js',
    })),
};

/** The plugins for a program that reads plans. */
export function slim(esbuild, root) {
  return [
    withGrammarMade(esbuild, root),
    USED_OF_JSON_RPC,
    SUN_ALONE,
    DOCUMENTS_CHANGED,
    PATHS_JOINED,
    NO_AREAS,
    BOXES_ALONE,
    FOLDERS_ALONE,
    NEWEST_FIELD,
    ENUMERATIONS_ALONE,
  ];
}
