/** A server that parses JSON and publishes its syntax errors, and nothing else: as fast as any server on the same parts. */
import { CstParser, createToken, Lexer } from 'chevrotain';
import { createConnection, ProposedFeatures, TextDocumentSyncKind, TextDocuments } from 'vscode-languageserver/node';
import { TextDocument } from 'vscode-languageserver-textdocument';

const token = (name: string, pattern: RegExp, more: object = {}) => createToken({ name, pattern, ...more });
const True = token('True', /true/);
const False = token('False', /false/);
const Null = token('Null', /null/);
const OpenBrace = token('OpenBrace', /{/);
const CloseBrace = token('CloseBrace', /}/);
const OpenBracket = token('OpenBracket', /\[/);
const CloseBracket = token('CloseBracket', /]/);
const Comma = token('Comma', /,/);
const Colon = token('Colon', /:/);
const Text = token('Text', /"(?:[^\\"]|\\(?:[bfnrtv"\\/]|u[0-9a-fA-F]{4}))*"/);
const Figure = token('Figure', /-?(0|[1-9]\d*)(\.\d+)?([eE][+-]?\d+)?/);
const Space = token('Space', /[ \t\n\r]+/, { group: Lexer.SKIPPED });
const ALL = [Space, Figure, Text, CloseBrace, OpenBrace, OpenBracket, CloseBracket, Comma, Colon, True, False, Null];

class JsonParser extends CstParser {
  readonly whole = this.RULE('whole', () => {
    this.OR([{ ALT: () => this.SUBRULE(this.object) }, { ALT: () => this.SUBRULE(this.list) }]);
  });
  private readonly object = this.RULE('object', () => {
    this.CONSUME(OpenBrace);
    this.MANY_SEP({ SEP: Comma, DEF: () => this.SUBRULE(this.member) });
    this.CONSUME(CloseBrace);
  });
  private readonly member = this.RULE('member', () => {
    this.CONSUME(Text);
    this.CONSUME(Colon);
    this.SUBRULE(this.value);
  });
  private readonly list = this.RULE('list', () => {
    this.CONSUME(OpenBracket);
    this.MANY_SEP({ SEP: Comma, DEF: () => this.SUBRULE(this.value) });
    this.CONSUME(CloseBracket);
  });
  private readonly value = this.RULE('value', () => {
    this.OR([
      { ALT: () => this.CONSUME(Text) },
      { ALT: () => this.CONSUME(Figure) },
      { ALT: () => this.SUBRULE(this.object) },
      { ALT: () => this.SUBRULE(this.list) },
      { ALT: () => this.CONSUME(True) },
      { ALT: () => this.CONSUME(False) },
      { ALT: () => this.CONSUME(Null) },
    ]);
  });

  constructor() {
    super(ALL);
    this.performSelfAnalysis();
  }
}

const lexer = new Lexer(ALL);
const parser = new JsonParser();
const connection = createConnection(ProposedFeatures.all);
const documents = new TextDocuments(TextDocument);

connection.onInitialize(() => ({ capabilities: { textDocumentSync: TextDocumentSyncKind.Incremental } }));
documents.onDidChangeContent(({ document }) => {
  const lexed = lexer.tokenize(document.getText());
  parser.input = lexed.tokens;
  parser.whole();
  const at = (offset: number, length: number) => ({
    start: document.positionAt(offset),
    end: document.positionAt(offset + length),
  });
  const diagnostics = [
    ...lexed.errors.map(({ message, offset, length }) => ({
      severity: 1 as const,
      message,
      range: at(offset, length),
    })),
    ...parser.errors.map(({ message, token: { startOffset, image } }) => ({
      severity: 1 as const,
      message,
      range: Number.isFinite(startOffset) ? at(startOffset, image.length) : at(document.getText().length, 0),
    })),
  ];
  void connection.sendDiagnostics({ uri: document.uri, version: document.version, diagnostics });
});
documents.listen(connection);
connection.listen();
