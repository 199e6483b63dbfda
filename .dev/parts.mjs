// Bundles a program in parts: one that is there from the start, and others that it loads once they are needed. The
// bundler itself can do that with modules alone, and neither a web worker of an editor nor a fast start goes with those.
//
// The first part keeps what the others share with it where they find it (`globalThis.legwiseCore`, by source and name, in
// an order that both were built with), so that nothing is there twice: a second copy would know nothing of what the first
// one remembers.
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { made } from './slim.mjs';

const CORE = 'globalThis.legwiseCore';
const OURS = /^(grammar|server)\/.*\.ts$/;
const RULE_FILE = /[\\/]server[\\/]rules[\\/][\w-]+\.ts$/;
const FORMS_FILE = /[\\/]grammar[\\/]vocabulary\.ts$/;
const SENTENCES_FILE = /[\\/]server[\\/]features[\\/]says\.ts$/;
const PAGES_FILE = /[\\/]server[\\/]rules[\\/]page\.ts$/;

/** The page of a rule as the bundler prints it, which is always the same way: `page` stands one step in. */
const PAGE = /^ {2}page: \{\n[\s\S]*?^ {2}\},?\n/m;
/** The title of a rule, which only its page shows. */
const TITLE = /^ {2}title: ".*",\n/m;

/** Leaves the pages of the rules, with their titles, out of what is there from the start: only whoever asks for one reads it. */
function withoutPages(esbuild) {
  return {
    name: 'without-pages',
    setup: (build) =>
      build.onLoad({ filter: RULE_FILE }, async ({ path: file }) => {
        const { code } = await esbuild.transform(readFileSync(file, 'utf8'), { loader: 'ts', target: 'esnext' });
        const left = code.replace(PAGE, '').replace(TITLE, '');
        if (/^ {2}(page|title): /m.test(left)) throw new Error(`${file} has a page that cannot be told from its rule`);
        return { contents: left, loader: 'js' };
      }),
  };
}

/** The pages of all rules, by code, as what makes them says. */
function pagesOf(esbuild, root) {
  return made(
    esbuild,
    root,
    `import { RULES } from './server/rules/index.ts';
import { pageOf } from './server/rules/page.ts';
globalThis.made = Object.fromEntries(RULES.map((rule) => [rule.code, pageOf(rule)]));`,
  );
}

/** The sentence of each form of the language, in order. */
function sentencesOf(esbuild, root) {
  return made(
    esbuild,
    root,
    `import { ENTRIES } from './grammar/vocabulary.ts';
globalThis.made = ENTRIES.flatMap(({ head, details }) => [head, ...details]).map(({ says }) => says);`,
  );
}

/** Leaves the sentences of the forms out of what is there from the start: hover and completion alone show them. */
function withoutSentences(esbuild, sentences) {
  return {
    name: 'without-sentences',
    setup: (build) =>
      build.onLoad({ filter: FORMS_FILE }, async ({ path: file }) => {
        let { code } = await esbuild.transform(readFileSync(file, 'utf8'), { loader: 'ts', target: 'esnext' });
        for (const sentence of new Set(sentences)) {
          code = code.replaceAll(JSON.stringify(sentence), '""');
          if (code.includes(sentence)) throw new Error(`${file} says “${sentence}” in another way than as a text`);
        }
        return { contents: code, loader: 'js' };
      }),
  };
}

/** Gives a source as another text, which the build has made. */
const instead = (name, filter, contents) => ({
  name,
  setup: (build) => build.onLoad({ filter }, () => ({ contents, loader: 'js' })),
});

const withSentences = (sentences) =>
  instead(
    'with-sentences',
    SENTENCES_FILE,
    `import { ENTRIES } from '../../grammar/vocabulary.ts';
const SENTENCES = ${JSON.stringify(sentences)};
const forms = ENTRIES.flatMap(({ head, details }) => [head, ...details]);
export const saysOf = (form) => SENTENCES[forms.indexOf(form)];`,
  );

/** Gives the pages as text that is made already, since the rules have them no more. */
const withPages = (pages) =>
  instead(
    'with-pages',
    PAGES_FILE,
    `const PAGES = ${JSON.stringify(pages)};\nexport const pageOf = ({ code }) => PAGES[code];`,
  );

/** Takes what the first part holds from there: all of a source, into `shared`, or what `taken` says, in that order. */
const fromCore = (root, held, shared, taken) => ({
  name: 'from-core',
  setup: (build) => {
    build.onResolve({ filter: /^\.{1,2}\// }, ({ path: to, resolveDir }) => {
      const file = path.relative(root, path.resolve(resolveDir, to)).split(path.sep).join('/');
      if (!held.has(file)) return undefined;
      shared?.add(file);
      return { path: file, namespace: 'core' };
    });
    build.onLoad({ filter: /.*/, namespace: 'core' }, ({ path: file }) => {
      if (!taken) return { contents: 'module.exports = {};' };
      const at = taken.findIndex((source) => source.file === file);
      return { contents: at < 0 ? 'export {};' : `export const [${taken[at].names.join(', ')}] = ${CORE}[${at}];` };
    });
  },
});

/** What a source exports that is there when it runs. */
function exportsOf(text) {
  const declared = text.matchAll(/^export (?:async )?(?:function\*?|const|let|class) (\w+)/gm);
  const listed = [...text.matchAll(/^export \{([^}]*)\}/gm)].flatMap(([, list]) => namesIn(list, /(\w+)\s*$/));
  return new Set([...Array.from(declared, ([, name]) => name), ...listed]);
}

function namesIn(list, pattern) {
  return list.split(',').flatMap((name) => (/^\s*(?:type\s|$)/.test(name) ? [] : (pattern.exec(name)?.[1] ?? [])));
}

/** The names that sources take from each file of ours. */
function takenBy(root, sources) {
  const taken = new Map();
  const stars = [];
  for (const source of sources) {
    const text = readFileSync(path.join(root, source), 'utf8');
    const fileOf = (from) => path.posix.join(path.posix.dirname(source), from);
    for (const [, list, from] of text.matchAll(/^(?:import|export) \{([^}]*)\} from '(\.[^']+)'/gm)) {
      const names = taken.get(fileOf(from)) ?? new Set();
      for (const name of namesIn(list, /^\s*(\w+)/)) names.add(name);
      taken.set(fileOf(from), names);
    }
    for (const [, from] of text.matchAll(/^export \* from '(\.[^']+)'/gm)) stars.push([source, fileOf(from)]);
    if (/^import \* as \w+ from '\./m.test(text)) throw new Error(`${source} takes all that another exports`);
  }
  for (const [through, file] of stars)
    taken.set(file, new Set([...(taken.get(file) ?? []), ...(taken.get(through) ?? [])]));
  return (file) => {
    const exported = exportsOf(readFileSync(path.join(root, file), 'utf8'));
    return [...(taken.get(file) ?? [])].filter((name) => exported.has(name)).sort();
  };
}

/** Has a part loaded from the file beside, where the program asks for its module. */
const beside = (entry, out) => ({
  name: 'part-beside',
  setup: (build) =>
    build.onResolve({ filter: new RegExp(`/${path.basename(entry).replaceAll('.', '\\.')}$`) }, ({ kind }) =>
      kind === 'dynamic-import' ? { path: `./${out}`, external: true } : undefined,
    ),
});

/**
 * Bundles ENTRY into OUT and the module PART.entry into PART.out, less what OUT holds. OPTIONS are the bundler's, with
 * the plugins of both. Returns the results of both, the first one first.
 */
export async function buildInParts(esbuild, root, options, { entry, out, web, part }) {
  const { plugins = [], ...rest } = options;
  const common = { ...rest, absWorkingDir: root, metafile: true, write: false };
  const sentences = await sentencesOf(esbuild, root);
  const core = [...plugins, withoutPages(esbuild), withoutSentences(esbuild, sentences), beside(part.entry, part.out)];
  const first = await esbuild.build({ ...common, entryPoints: [entry], outfile: `dist/${out}`, plugins: core });
  // A source of which nothing was needed is not held.
  const held = new Set(
    Object.entries(first.metafile.outputs[`dist/${out}`].inputs)
      .filter(([file, { bytesInOutput }]) => OURS.test(file) && bytesInOutput > 0)
      .map(([file]) => file),
  );
  const module = JSON.stringify(`./${part.entry}`);
  const pages = await pagesOf(esbuild, root);
  const secondOf = (shared, taken) => ({
    ...common,
    stdin: {
      contents: web
        ? `import * as part from ${module};\n(globalThis.legwiseChunks ??= {})[${JSON.stringify(part.name)}] = part;`
        : `export * from ${module};`,
      resolveDir: root,
      sourcefile: 'part.js',
    },
    outfile: `dist/${part.out}`,
    plugins: [...plugins, withPages(pages), withSentences(sentences), fromCore(root, held, shared, taken)],
  });
  // What nothing in the second part takes is not kept for it.
  const shared = new Set();
  const draft = await esbuild.build(secondOf(shared));
  const namesOf = takenBy(
    root,
    Object.keys(draft.metafile.inputs).filter((file) => OURS.test(file)),
  );
  const taken = [...shared]
    .sort()
    .map((file) => ({ file, names: namesOf(file) }))
    .filter(({ names }) => names.length > 0);
  const second = await esbuild.build(secondOf(undefined, taken));
  const whole = await esbuild.build({
    ...common,
    stdin: {
      contents: [
        ...taken.map(
          ({ file, names }, i) =>
            `import { ${names.map((name) => `${name} as ${name}_${i}`)} } from ${JSON.stringify(`./${file}`)};`,
        ),
        `${CORE} = [${taken.map(({ names }, i) => `[${names.map((name) => `${name}_${i}`)}]`)}];`,
        `import ${JSON.stringify(`./${entry}`)};`,
      ].join('\n'),
      resolveDir: root,
      sourcefile: 'core.js',
    },
    outfile: `dist/${out}`,
    plugins: core,
  });
  return [whole, second];
}
