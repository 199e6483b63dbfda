/** Whether what a sheet is made from is what the last commit holds: as `legwise brief` says it. */

/** What is asked of a repository; paths are those of the file system, whole. */
export interface Committed {
  readonly commit: string;
  /** Files that differ from the commit, as far as that is known without asking. */
  readonly changed: readonly string[];
  /** Resolves when the commit holds a file, and rejects otherwise. */
  holds(file: string): Promise<unknown>;
}

/** What the last commit that was asked about holds: commits do not change, and each question starts a process. */
export class Uncommitted {
  #commit = '';
  readonly #held = new Map<string, Promise<boolean>>();

  /** Whether any of some files is not as it is in the commit. Those in `unsaved` have edits that are not on the disk. */
  async any(repository: Committed, files: readonly string[], unsaved: readonly string[]): Promise<boolean> {
    const { commit, changed } = repository;
    if (commit !== this.#commit) {
      this.#commit = commit;
      this.#held.clear();
    }
    if (files.some((file) => changed.includes(file) || unsaved.includes(file))) return true;
    // What is ignored, or lies outside, is in no list of changes.
    const held = await Promise.all(files.map((file) => this.#holds(repository, file)));
    return held.includes(false);
  }

  #holds(repository: Committed, file: string): Promise<boolean> {
    const known = this.#held.get(file);
    if (known) return known;
    const asked = repository.holds(file).then(
      () => true,
      () => false,
    );
    this.#held.set(file, asked);
    // What is not there now may be once it is asked again.
    void asked.then((isHeld) => isHeld || this.#held.delete(file));
    return asked;
  }
}
