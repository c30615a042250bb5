/**
 * A host with a rig of the laboratory open. At every line on standard input it waits until ergometer and valve are
 * live, sets the load and turns the valve away from filtered air, and prints one line `{"loaded": processId}`.
 * Arguments: the folder, the name of the rig, watts, port; with port 0 a trial is begun first, which turns the valve
 * itself, and its file and name stand in the line.
 */
import { createInterface } from 'node:readline';
import { driveRuntime } from '../runtime/drive.ts';

const [folder = '', rig = '', watts = '', port = ''] = process.argv.slice(2);
const driver = await driveRuntime({ folder });
const { procedures, window } = driver;
await procedures.rig.open({ name: rig }, window);
let trial: { readonly file: string; readonly trial: string } | null = null;

async function beginTrial(): Promise<{ readonly file: string; readonly trial: string }> {
  await driver.until('every instrument', (now) => now.rig.instruments.every(({ state }) => state === 'live'));
  await procedures.person.add({ code: 'anna', name: 'Anna', roles: ['operator'], pin: '4711' }, window);
  await procedures.person.choose({ code: 'anna' }, window);
  const { file } = await procedures.study.create({ name: 'Driven study' }, window);
  const begun = await procedures.trial.prepare(driver.plan(file), window);
  await driver.command('start');
  return { file, trial: begun.trial };
}
const wishes = createInterface({ input: process.stdin })[Symbol.asyncIterator]();
while ((await wishes.next()).done !== true) {
  for (;;) {
    try {
      await driver.until('both live', ({ rig: { instruments } }) =>
        instruments
          .filter(({ instrument }) => instrument === 'ergometer' || instrument === 'selector')
          .every(({ connection, state }) => connection !== null && state !== 'lost'),
      );
      await procedures.rig.setOutput({ instrument: 'ergometer', output: 'power', value: Number(watts) }, window);
      if (port === '0') trial ??= await beginTrial();
      else await procedures.rig.selectPort({ port: Number(port) }, window);
      break;
    } catch (error) {
      // A line that the guard still has is tried again.
      process.stderr.write(`${String(error)}\n`);
    }
  }
  process.stdout.write(`${JSON.stringify({ loaded: process.pid, ...trial })}\n`);
}
process.exit(0);
