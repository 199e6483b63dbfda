/** From a place in an entry to lines and columns of its file, as the file stands now. */
import { indexOfEntry, type LinePosition, type PlacedEntry, rangeAt } from '../../grammar/file.ts';
import type { Place } from './task.ts';
import type { Workspace } from './workspace.ts';

/** Lines and characters count from 0, characters in UTF-16 code units; `end` is exclusive. */
export interface FileRange {
  readonly uri: string;
  readonly start: LinePosition;
  readonly end: LinePosition;
}

/** Where an entry stands in its file now; undefined when it is no longer there. */
export function placedEntry(workspace: Workspace, place: Place): PlacedEntry | undefined {
  const file = workspace.files.get(place.uri);
  return file?.syntax.placed.at(indexOfEntry(file.syntax, place.entry));
}

/** The range of a place; undefined when the entry is no longer in its file. */
export function rangeOf(workspace: Workspace, place: Place): FileRange | undefined {
  const placed = placedEntry(workspace, place);
  return placed && { uri: place.uri, ...rangeAt(placed, place.span) };
}
