import { writeSync } from 'node:fs';
import { driveRuntime } from './drive.ts';
import { writeQuickScenario } from './quick-scenario.ts';

/**
 * A host that begins a trial on the virtual rig and records it until it is killed. Four times a second one line: the
 * trial, what happens, and how far everything is on the disk. Arguments: the folder.
 */
const folder = process.argv[2] ?? '';
writeQuickScenario(folder, ['march']);
const driver = await driveRuntime({ folder });
const { file } = await driver.setUp();
const { trial } = await driver.procedures.trial.prepare(driver.plan(file), driver.window);
await driver.command('start');
setInterval(() => {
  const { record } = driver.runtime.snapshot();
  const { atMicroseconds, now } = driver.trial();
  const throughMicroseconds = atMicroseconds - (record?.uncommittedSeconds ?? Infinity) * 1e6;
  writeSync(1, `${JSON.stringify({ file, trial, kind: now.kind, air: now.air, throughMicroseconds })}\n`);
}, 250);
