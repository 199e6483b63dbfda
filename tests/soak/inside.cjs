// Loaded into a server under test: on SIGUSR2 it says how much of the heap is in use once what is unused is collected,
// and it says what the server would keep to itself.
const { writeSync } = require('node:fs');

const say = (told) => writeSync(3, `${JSON.stringify(told)}\n`);
process.on('SIGUSR2', () => {
  global.gc();
  global.gc();
  say({ kind: 'heap', bytes: process.memoryUsage().heapUsed, rss: process.memoryUsage().rss });
});
process.on('unhandledRejection', (error) => say({ kind: 'rejection', error: String(error?.stack ?? error) }));
process.on('uncaughtExceptionMonitor', (error) => say({ kind: 'exception', error: String(error?.stack ?? error) }));
process.on('warning', (warning) => say({ kind: 'warning', error: String(warning.stack ?? warning) }));
