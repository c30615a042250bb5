import { findDriver } from '../../../drivers/registry.ts';
import type { AskedPort, LineAsk, OfferedPorts } from '../../bridge/ports.ts';
import { shownText } from '../../bridge/wire-rows.ts';
import { overloadFollows } from '../../device/wire-load.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { createMonotonicClock } from '../clock/monotonic-clock.ts';
import { createPortDesk } from '../runtime/port-desk.ts';
import type { PortDesk } from '../runtime/port-desk.ts';
import { openLaboratory } from '../store/laboratory.ts';
import { listSerialPorts } from '../transport/list-ports.ts';
import { openTransport } from '../transport/open.ts';
import { portHolders } from '../transport/port-holders.ts';
import type { Command, OptionValues, Output } from './command.ts';
import { givenSettings } from './given-settings.ts';
import { formatTable } from './table.ts';

/** With `--ask` only. */
const ofAsking = ['kind', 'dialect', 'baud', 'settings', 'laboratory', 'rig'] as const;

/** An instrument that is looked for, and how it is called in the list. */
interface Wanted {
  readonly name: string;
  readonly ask: LineAsk;
}

export const portsCommand: Command = {
  name: 'ports',
  summary: 'list the serial ports of this machine, and ask at those that are named which instrument is there',
  options: [
    { name: 'ask', value: 'PORT,PORT', help: 'ask at these ports; bytes are written to whatever is connected there' },
    { name: 'kind', value: 'KIND', help: 'with --ask: what kind of instrument is looked for, as in a rig' },
    { name: 'dialect', value: 'NAME', help: 'with --kind: what it speaks, as in a rig' },
    { name: 'baud', value: 'RATE', help: 'with --kind: 50 to 4000000, default that of the dialect' },
    { name: 'settings', value: 'FILE', help: 'with --kind: settings of the dialect as JSON, default its own' },
    { name: 'laboratory', value: 'FILE', help: 'with --ask: laboratory file; its rig says what is looked for' },
    { name: 'rig', value: 'NAME', help: 'with --laboratory: this rig, every instrument of it' },
  ],
  notes: [
    'Nothing is opened without --ask, and never a port that is in use. An instrument that speaks by itself is listened',
    'to; the others are asked who they are, or for a value. No output is set. Still: name no port with a device that',
    'such bytes could set off.',
    'A port that is not listed (a pseudo-terminal, a machine without device management) can be typed all the same.',
    'Exit status 0: listed, or every instrument was found at one port. 1: one was not, or at several. 2: wrong usage.',
  ],
  async run(values, output) {
    const ports = values.optional('ask')?.split(',');
    const stray = ports === undefined ? ofAsking.find((name) => values.has(name)) : undefined;
    if (stray !== undefined) throw wrong(`--${stray} belongs to --ask`);
    const clock = createMonotonicClock();
    const desk = createPortDesk({
      clock,
      list: () => listSerialPorts(),
      holders: portHolders,
      open: openTransport,
      inUse: () => [],
    });
    if (ports === undefined) {
      list(await desk.offered(false), values.json, output);
      return 0;
    }
    if (ports.includes('') || ports.length > 32) throw wrong('--ask takes 1 to 32 names of ports with commas between');
    const asked = await askAll(desk, wantedIn(values), ports, output);
    if (values.json) output.line(JSON.stringify({ asked }));
    else output.line(answerTable(asked));
    const found = asked.every(({ answers }) => answers.filter(({ answer }) => answer === 'recognised').length === 1);
    return found ? 0 : 1;
  },
};

function list(offered: OfferedPorts, json: boolean, output: Output): void {
  if (json) {
    output.line(JSON.stringify(offered));
    return;
  }
  const { note, ports } = offered;
  if (ports.length === 0) output.line('No serial port is listed.');
  else {
    const headings = ['port', 'made by', 'adapter', 'serial number', 'name by what it is', 'in use by'];
    output.line(
      formatTable(
        headings.map((heading) => ({ heading, align: 'left' as const })),
        ports.map(({ byId, manufacturer, path, productId, serialNumber, usedBy, vendorId }) => [
          ...[path, manufacturer ?? '', vendorId === null ? '' : `${vendorId}:${productId ?? '?'}`],
          ...[serialNumber ?? '', byId ?? '', usedBy ?? ''],
        ]),
      ),
    );
  }
  if (note !== null) output.note(note);
}

interface Asked extends Wanted {
  readonly answers: readonly AskedPort[];
}

/** One instrument after the other: two questions at once on one port would not be told apart. */
async function askAll(
  desk: PortDesk,
  wanted: readonly Wanted[],
  ports: readonly string[],
  output: Output,
): Promise<Asked[]> {
  const asked: Asked[] = [];
  for (const one of wanted) {
    const { overload, recognised } = desk.line(one.ask);
    if (overload !== null) output.note(`${one.name}: too slow a line: ${overload}. ${overloadFollows}`);
    if (recognised === null) {
      output.note(`${one.name}: nothing that such an instrument says tells it from others; it is left out.`);
      continue;
    }
    const { limitSeconds, question } = recognised;
    const how = question === null ? 'listening, nothing is written' : `writing ${question}`;
    output.note(`${one.name}: ${how}, at ${one.ask.baudRate} baud, ${limitSeconds} s at most for each port.`);
    asked.push({ ...one, answers: await desk.ask(one.ask, ports, false) });
  }
  return asked;
}

function answerTable(asked: readonly Asked[]): string {
  const words = { recognised: 'fits', other: 'no', nothing: 'no', failed: 'not opened', used: 'left alone' } as const;
  return formatTable(
    ['instrument', 'port', 'is it', 'says that it is', 'what came'].map((heading) => ({ heading, align: 'left' })),
    asked.flatMap(({ answers, name }) =>
      answers.map(({ answer, detail, path, told }) => [name, path, words[answer], told ?? '', shownText(detail)]),
    ),
  );
}

function wantedIn(values: OptionValues): Wanted[] {
  const file = values.optional('laboratory');
  if (file === undefined) {
    if (values.has('rig')) throw wrong('--rig belongs to --laboratory');
    const [kind, dialect] = [values.text('kind'), values.text('dialect')];
    const { serial } = findDriver(kind, dialect);
    const baudRate = values.wholeNumber('baud', { least: 50, most: 4_000_000, otherwise: serial.baudRate });
    const settings = givenSettings(values.optional('settings'));
    return [{ name: `${kind} ${dialect}`, ask: { kind, dialect, settings, baudRate } }];
  }
  const stray = (['kind', 'dialect', 'baud', 'settings'] as const).find((name) => values.has(name));
  if (stray !== undefined) throw wrong(`--${stray} and --laboratory are two ways to say what is looked for`);
  const name = values.text('rig');
  const laboratory = openLaboratory(file);
  try {
    const rig = laboratory.list('rig').find(({ content }) => content.name === name)?.content;
    if (rig === undefined) {
      const remedy = 'Give the name of one of its rigs.';
      throw new ChambersideError('configuration-invalid', `the laboratory has no rig ${name}`, file, remedy);
    }
    const connections = laboratory.listConnections();
    return rig.instruments.map(({ dialect, instrument, kind, settings }) => {
      const known = connections.find((one) => one.rig === name && one.instrument === instrument)?.settings;
      const baudRate = known?.kind === 'serial' ? known.baudRate : findDriver(kind, dialect).serial.baudRate;
      return { name: instrument, ask: { kind, dialect, settings, baudRate } };
    });
  } finally {
    laboratory.close();
  }
}

function wrong(what: string): ChambersideError {
  return new ChambersideError('usage-unknown-option', what, 'chamberside ports', 'See --help.');
}
