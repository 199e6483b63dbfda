/** What the extension is, wherever it runs. How a server is launched there is the entry point's business. */
import * as vscode from 'vscode';
import { Brief } from './brief.ts';
import { Compare } from './compare.ts';
import { FlightView } from './flight-view.ts';
import { NewClub } from './new-club.ts';
import { NewPlan } from './new-plan.ts';
import { Pages } from './pages.ts';
import { type Connect, Session } from './session.ts';
import { MarginStatus } from './status.ts';
import { WhatIf } from './what-if.ts';

let session: Session | undefined;

/** Starts a session whose servers `connect` launches, and registers every page, view and command. */
export function activateWith(context: vscode.ExtensionContext, connect: Connect): void {
  const running = new Session(connect);
  session = running;
  const whatIf = new WhatIf(running);
  const view = new FlightView(context.extensionUri, running, [whatIf]);
  context.subscriptions.push(
    ...new Pages(() => running.client).register(),
    ...view.register(),
    ...whatIf.register(view),
    ...new NewPlan(running).register(),
    ...new NewClub(running).register(),
    ...new Brief(running, context.globalStorageUri).register(),
    ...new Compare(running).register(),
    ...new MarginStatus(running).register(),
    vscode.commands.registerCommand('legwise.restartServer', () => running.restart()),
    vscode.commands.registerCommand('legwise.showOutput', () => running.output.show()),
  );
  void running.start(); // not awaited: the commands must work while the server starts, and when it hangs
}

export async function deactivate(): Promise<void> {
  await session?.dispose();
}
