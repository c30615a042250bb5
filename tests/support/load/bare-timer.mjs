/**
 * A process that does nothing but wait: a line `{"count", "spacingMicroseconds"}` on standard input sets as many
 * deadlines, each by one timer, one after the other on a plan. The answer is one line, how late each was, µs.
 */
import { createInterface } from 'node:readline';

createInterface({ input: process.stdin }).on('line', (line) => {
  /** @type {{ count: number, spacingMicroseconds: number }} */
  const { count, spacingMicroseconds } = JSON.parse(line);
  const began = performance.now();
  /** @type {number[]} */
  const late = [];
  const set = () => {
    const planned = began + ((late.length + 1) * spacingMicroseconds) / 1000;
    setTimeout(
      () => {
        late.push(Math.round((performance.now() - planned) * 1000));
        if (late.length < count) set();
        else process.stdout.write(`${JSON.stringify(late)}\n`);
      },
      Math.max(0, planned - performance.now()),
    );
  };
  set();
});
