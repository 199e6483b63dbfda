/** XML and JSON held to the published schemas of what they say they are: whole, and without a network. */
import { readdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { Ajv } from 'ajv';
import { XmlBufferInputProvider, XmlDocument, XsdValidator, xmlRegisterInputProvider } from 'libxml2-wasm';

const FOLDER = new URL('../published/schemas/', import.meta.url);

// What a schema imports is read from beside it, and nothing is read from anywhere else.
const files = Object.fromEntries(
  readdirSync(FOLDER)
    .filter((name) => name.endsWith('.xsd'))
    .map((name) => [name, new Uint8Array(readFileSync(new URL(name, FOLDER)))]),
);
xmlRegisterInputProvider(new XmlBufferInputProvider(files));

const schemas = new Map<string, XsdValidator>();

/** Throws, with what is wrong, for XML that a schema of tests/published/schemas refuses. */
export function valid(text: string, schema: 'gpx11.xsd' | 'ogckml22.xsd'): void {
  let validator = schemas.get(schema);
  if (!validator) {
    validator = XsdValidator.fromDoc(XmlDocument.fromBuffer(files[schema] as Uint8Array, { url: schema }));
    schemas.set(schema, validator);
  }
  using document = XmlDocument.fromString(text);
  validator.validate(document);
}

const GEOJSON = createRequire(import.meta.url)('geojson-schema/FeatureCollection.json') as object;
const ofGeojson = new Ajv({ allErrors: true }).compile(GEOJSON);

/** What geojson.org's schema of a collection of features has against a text; null for a valid one. */
export function geojsonErrors(text: string): unknown {
  ofGeojson(JSON.parse(text));
  return ofGeojson.errors ?? null;
}
