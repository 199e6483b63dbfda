/** The language server for Node: wiring only. */
import packageJson from '../package.json' with { type: 'json' };
import { connectionOverStdio } from './node/connection.ts';
import { listPlans, readPlan, readTile } from './node/files.ts';
import { linksOnDisk } from './node/links.ts';
import { startSession } from './session.ts';

const connection = connectionOverStdio();

startSession(connection, {
  read: readPlan,
  list: listPlans,
  readTile,
  links: linksOnDisk(),
  later: (run) => {
    setImmediate(run);
  },
  features: () => import('./handlers.ts'),
  pdf: async (sheets, madeMs) => {
    const { pdfOf } = await import('./node/brief-pdf.ts');
    return Buffer.from(await pdfOf(sheets, { paper: 'a4', madeMs })).toString('base64');
  },
  version: packageJson.version,
});

connection.listen();
