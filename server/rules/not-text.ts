import type { Rule } from './rule.ts';

/** A file that is no text. */
export const notText: Rule = {
  code: 'not-text',
  severity: 'error',
  title: 'The file is not text',
  page: {
    means:
      'The file ends in `.taskplan`, but it holds a zero byte (drawn below as `␀`), which no text does: it is a picture, an archive, or text in UTF-16. It is not looked at further.',
    why: 'Nothing in the file is checked, so a task in it may look sound and is not known to be.',
    bad: 'reserve Training\n  arrive 1000 ft AGL␀\n',
    good: 'reserve Training\n  arrive 1000 ft AGL\n',
    turnDown: 'It is not turned down: save the file as UTF-8 text, or give it another ending.',
  },
  *file({ understood: { file } }) {
    const [first] = file.syntax.trees;
    if (!file.notText || !first) return;
    yield {
      at: { uri: file.uri, entry: first, span: { start: 0, end: 0 } },
      message: 'this file is not text, and nothing in it is checked. Save it as UTF-8 text, or give it another ending.',
    };
  },
};
