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

let session: Session | undefined;

/** Starts a session whose servers `connect` launches, and registers every page, view and command. */
export function activateWith(context: vscode.ExtensionContext, connect: Connect): void {
  const running = new Session(connect);
  session = running;
  context.subscriptions.push(
    ...new Pages(() => running.client).register(),
    ...new FlightView(context.extensionUri, running).register(),
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
