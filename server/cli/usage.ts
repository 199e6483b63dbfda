/** The words of the command line: what each command takes and says. */

export const USAGE: Readonly<Record<string, string>> = {
  '': `legwise: glider task plans as text, checked

usage: legwise COMMAND [OPTIONS] [PATH…]

commands:
  check [PATH…]     every finding of every plan
  budget FILE       the legs of each task with their glide budgets
  compare OLD NEW   what a change of plans means in the air
  brief FILE        the sheet to print and carry, as HTML or PDF
  export FILE       tasks and points for maps and receivers
  import FILE       fields and turnpoints from GeoJSON, GPX or CSV
  format [PATH…]    rewrite plans in the standard layout
  explain CODE      the page of a finding
  serve --stdio     the language server, for any editor

options:
  --help            this text; behind a command, that command's
  --version         the version

A path is a file, a folder, or a pattern such as 'plans/**/*.taskplan'; what .gitignore names is left out; - is standard input.
Exit status: 0 nothing wrong, 1 findings at or above --fail-on, 2 wrong use, input that cannot be read, or output that cannot be written.

A planning aid: the flight manual, the instructor, local rules and eyes outside come first.
`,
  check: `legwise check [PATH…]: every finding of every plan

  --format FORMAT                how it is written: text, or for machines json, jsonl, sarif, github, junit (text)
  --fail-on error|warning|info   the least grave finding that makes the exit status 1 (error)
  --severity CODE=LEVEL          another severity for a finding: error, warning, info, hint or off; an error stays a warning at least
  --legal-end TIME               when the legal day ends at the finish: sunset, 'sunset + 30 min' or 'civil dusk' (sunset)
  --since REV                    only what was not found, or less grave, in a git revision; what stood there stays out, whatever its figures are now; what plans use and git does not keep is taken from the disk for both
  --shard K/N                    the K-th of N parts of all plans, the same parts on every machine
  --jobs N                       how many threads check (one a core where there are many plans)
  --cache DIR                    keep results in a folder, and take those that still hold
  --watch                        check again when a file changes; q or Ctrl-C ends it
  --workspace DIR                the folder whose files plans may use (the repository that a plan lies in)

sarif is SARIF 2.1.0 with paths from the working folder, github writes workflow annotations with paths from the top of the checkout, junit is JUnit XML.
Without a path, the working folder is checked; - is standard input.
`,
  budget: `legwise budget FILE: the legs of each task with their glide budgets

  --task NAME                    this task only
  --format text|json|markdown    how it is written (text)
  --fail-on error|warning|info   the least grave finding that makes the exit status 1 (error)
  --severity CODE=LEVEL          another severity for a finding, as for check
  --legal-end TIME               when the legal day ends at the finish, as for check
  --workspace DIR                the folder whose files plans may use (the repository that a plan lies in)
`,
  compare: `legwise compare OLD NEW: what a change of plans means in the air
legwise compare --git BASE[..HEAD] [PATH…]

OLD and NEW are two files or two folders. For each task: its legs before and after, the findings that came, went, or got worse or better, and what each changed fact alone does.

  --git BASE                     a revision against the working tree, through the program git
  --git BASE..HEAD               a revision against another; with three dots, from where they go apart
  --format text|markdown|json    how it is written (text)
  --fail-on error|warning|info   the least grave finding brought, or made worse, by the change that makes the exit status 1 (error)
  --severity CODE=LEVEL          another severity for a finding, as for check
  --legal-end TIME               when the legal day ends at the finish, as for check
  --workspace DIR                the folder whose files plans may use (the repository that a plan lies in)

With --git, the plans are those that git keeps, and in the working tree also those that it would take; a file that is named counts whatever its ending.
What they use and git does not keep, such as elevation tiles that .gitignore names, is taken from the disk for both sides, which is said.
`,
  brief: `legwise brief FILE -o OUT.html|OUT.pdf: the sheet to print and carry, a page a task

  -o, --output OUT               the file to write, by its ending HTML or PDF; - is HTML on standard output
  --task NAME                    this task only
  --paper a4|a5                  the paper (a4)
  --fail-on error|warning|info   the least grave finding that makes the exit status 1 (error)
  --severity CODE=LEVEL          another severity for a finding, as for check
  --legal-end TIME               when the legal day ends at the finish, as for check
  --workspace DIR                the folder whose files plans may use (the repository that a plan lies in)

The sheet is written whatever is found, and the errors and warnings stand on top of it. Where a task has more than a page has room for, the front says what stands on the reverse. - is standard input.
It says which git revision it is of, where there is one, and when it was made.
`,
  export: `legwise export FILE --to geojson|gpx|kml [-o OUT]: tasks and points for maps and receivers

  --to geojson|gpx|kml    the format: GeoJSON (RFC 7946), GPX 1.1 or KML 2.2; without it, by the ending of OUT
  --task NAME             this task only, and the points of the file
  -o, --output OUT        the file to write (standard output)
  --workspace DIR         the folder whose files plans may use (the repository that a plan lies in)

- is standard input. Heights stand in the words and properties, above the sea on the QNH given; the lines lie on the ground.
`,
  import: `legwise import FILE: fields and turnpoints from GeoJSON, GPX waypoints or CSV, as plan text on standard output

  --from geojson|gpx|csv    the format, where the ending of FILE does not say it
  --as field|turnpoint      what a point becomes that does not say it (turnpoint)
  --unit m|ft               the unit of elevations that do not say theirs; it is never guessed

CSV has a first line with the columns name, lat and lon (degrees, WGS84), and if one likes elevation with its unit (elevation ft) and kind (field or turnpoint). - is standard input.
Exit status: 1 where a point is left out; the error stream says why.
`,
  format: `legwise format [PATH…]: rewrite plans in the standard layout

  --check    change nothing; the exit status is 1 when a plan is not in the standard layout

Lines with a mistake in them stay as they are. Without a path, the working folder; - reads standard input and writes standard output.
`,
  explain: `legwise explain CODE: the page of a finding

Without a code, the list of all.
`,
  serve: `legwise serve --stdio: the language server, for any editor

  --stdio                   talk over standard input and output
  --clientProcessId NUMBER  end when the process of that number does, as editors ask for
`,
};
