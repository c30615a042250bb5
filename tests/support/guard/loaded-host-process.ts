/**
 * A host with a rig of the laboratory open. At every line on standard input it waits until ergometer and valve are
 * live, sets the load and turns the valve away from filtered air, and prints one line `{"loaded": processId}`.
 * Arguments: the folder, the name of the rig, watts, port.
 */
import { createInterface } from 'node:readline';
import { driveRuntime } from '../runtime/drive.ts';

const [folder = '', rig = '', watts = '', port = ''] = process.argv.slice(2);
const driver = await driveRuntime({ folder });
const { procedures, window } = driver;
await procedures.rig.open({ name: rig }, window);
for await (const _line of createInterface({ input: process.stdin })) {
  for (;;) {
    try {
      await driver.until('both live', ({ rig: { instruments } }) =>
        instruments
          .filter(({ instrument }) => instrument === 'ergometer' || instrument === 'selector')
          .every(({ connection, state }) => connection !== null && state !== 'lost'),
      );
      await procedures.rig.setOutput({ instrument: 'ergometer', output: 'power', value: Number(watts) }, window);
      await procedures.rig.selectPort({ port: Number(port) }, window);
      break;
    } catch (error) {
      // A line that the guard still has is tried again.
      process.stderr.write(`${String(error)}\n`);
    }
  }
  process.stdout.write(`${JSON.stringify({ loaded: process.pid })}\n`);
}
process.exit(0);
