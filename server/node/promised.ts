/** Files by promises, without the module of Node that has them: loading it takes a millisecond of each start. */
import fs from 'node:fs';
import { promisify } from 'node:util';

export const readFile = promisify(fs.readFile);
export const stat = promisify(fs.stat);
/** As the system tells it. */
export const realpath = promisify(fs.realpath.native);
