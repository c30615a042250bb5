/**
 * The virtual rig as a process of its own, in real time on the machine's monotonic clock. One line of JSON on
 * standard output says what it is and where (`rigGreetingSchema`), later lines what changed (`rigReportSchema`);
 * lines on standard input steer it (`rigCommandSchema`). To a person at a terminal it prints a table instead.
 */
import { createInterface } from 'node:readline';
import { createVirtualRig } from '../../../drivers/virtual-rig/index.ts';
import type { Connection } from '../../device/transport.ts';
import { isChambersideError } from '../../model/error-code.ts';
import { formatTable } from '../cli/table.ts';
import { createMonotonicClock } from '../clock/monotonic-clock.ts';
import { rigCommandSchema, type RigCommand, type RigGreeting, type RigReport } from './rig-messages.ts';
import { parseRigProcessOptions, rigProcessHelp, type RigProcessOptions } from './rig-process-options.ts';
import { createPseudoTerminalWires, createTcpWires } from './rig-wires.ts';
import { serveRig, type ServedRig } from './serve-rig.ts';
import { createTruthFile } from './truth-file.ts';

const forPerson = process.stdout.isTTY === true;

function describe(connection: Connection): string {
  switch (connection.transport) {
    case 'serial':
      return `${connection.path} at ${connection.baudRate}`;
    case 'tcp':
      return `tcp ${connection.host}:${connection.port}`;
    case 'in-process':
      return connection.name;
  }
}

function say(text: string): void {
  process.stdout.write(`${text}\n`);
}

function greet(greeting: RigGreeting): void {
  if (!forPerson) {
    say(JSON.stringify(greeting));
    return;
  }
  const rows = greeting.rig.instruments.map(({ instrument, kind, dialect }) => {
    const connection = greeting.connections[instrument];
    return [instrument, `${kind}, ${dialect}`, connection === undefined ? '' : describe(connection)];
  });
  const columns = ['instrument', 'speaks as', 'connection'].map((heading) => ({ heading, align: 'left' as const }));
  say(`${greeting.rig.name} (virtual)\n\n${formatTable(columns, rows)}`);
  say('\nCtrl-C ends it; --help says how to steer it.');
}

function report(message: RigReport): void {
  if (!forPerson) {
    say(JSON.stringify(message));
  } else if ('cable' in message) {
    const { cable } = message;
    say(`${cable.instrument}: ${cable.state === 'pulled' ? 'cable pulled' : `back at ${describe(cable.connection)}`}`);
  } else if ('acted' in message) {
    const { acted } = message;
    const what = acted.act === 'load' ? `load of ${acted.watts} W` : `at port ${acted.port}`;
    say(`${acted.instrument}: ${what}`);
  } else if ('refused' in message) {
    say(`Not done: ${message.refused}`);
  }
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** Performs a command. @returns false when it asks to stop. */
function perform(command: RigCommand, served: ServedRig): boolean {
  if ('stop' in command) return false;
  if ('cue' in command) served.virtual.cue(command.cue);
  else if ('hand' in command) served.virtual.handle(command.hand);
  else served.virtual.inject(command.fault);
  return true;
}

async function run(options: RigProcessOptions): Promise<void> {
  const clock = createMonotonicClock();
  const truth =
    options.truthFile === null
      ? null
      : createTruthFile(options.truthFile, clock.now, options.continueTruth ? 'append' : 'new');
  const fail = (error: unknown): void => {
    process.stderr.write(`${messageOf(error)}\n`);
    process.exitCode = 1;
    void end();
  };
  let monotonicOriginMicroseconds = clock.now();
  const served = await serveRig({
    wires: options.wire === 'pty' ? createPseudoTerminalWires() : createTcpWires(),
    createRig(onCable) {
      monotonicOriginMicroseconds = clock.now();
      return createVirtualRig({
        scenario: options.scenario,
        seed: options.seed,
        clock,
        truth,
        onCable,
        onAct: (acted) => report({ acted }),
        ...(options.startedInside === null ? {} : { startedInside: options.startedInside }),
      });
    },
    onCable: (cable) => report({ cable }),
    onFailure: fail,
  });

  let ending: Promise<void> | undefined;
  const end = (): Promise<void> => {
    ending ??= (async () => {
      await served.stop();
      try {
        truth?.close();
      } catch (error) {
        // The disk is still full: what waited is lost, and the truth of this rig ends before its trial.
        process.stderr.write(`${messageOf(error)}\n`);
        process.exitCode = 1;
      }
      report({ ended: { droppedBytes: Object.fromEntries(served.droppedBytes()) } });
      // Nothing else is left: the process ends by itself.
      process.stdin.destroy();
    })();
    return ending;
  };
  for (const signal of ['SIGTERM', 'SIGINT', 'SIGHUP'] as const) process.once(signal, () => void end());
  process.stdout.on('error', () => void end());

  greet({
    rig: served.virtual.rig,
    series: served.virtual.series,
    connections: Object.fromEntries(served.connections),
    monotonicOriginMicroseconds,
  });

  createInterface({ input: process.stdin })
    .on('line', (line) => {
      if (line.trim() === '') return;
      try {
        if (!perform(rigCommandSchema.parse(JSON.parse(line)), served)) void end();
      } catch (error) {
        report({ refused: messageOf(error) });
      }
    })
    .on('close', () => void end());
}

try {
  const options = parseRigProcessOptions(process.argv.slice(2));
  if (options === null) process.stdout.write(rigProcessHelp);
  else await run(options);
} catch (error) {
  process.stderr.write(`${messageOf(error)}\n`);
  process.exitCode = isChambersideError(error) && error.code.startsWith('usage-') ? 2 : 1;
}
