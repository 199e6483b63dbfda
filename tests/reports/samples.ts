/** The samples as one workspace, as their reader opens them. */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { createWorkspace, setFile, type Workspace } from '../../server/plan/workspace.ts';

const FOLDER = path.join(import.meta.dirname, '../../samples');
const ROOT = 'file:///samples';

export function sampleWorkspace(): Workspace {
  const workspace = createWorkspace([ROOT]);
  for (const name of readdirSync(FOLDER, { recursive: true, encoding: 'utf8' }).sort())
    if (name.endsWith('.taskplan'))
      setFile(workspace, `${ROOT}/${name.replaceAll('\\', '/')}`, readFileSync(path.join(FOLDER, name), 'utf8'));
  return workspace;
}
