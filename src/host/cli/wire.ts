import { basename } from 'node:path';
import type { Connection } from '../../device/transport.ts';
import { shownText } from '../../bridge/wire-rows.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { slugSchema } from '../../model/identity.ts';
import { findDriver } from '../../../drivers/registry.ts';
import { createMonotonicClock } from '../clock/monotonic-clock.ts';
import { readGivenFile } from '../given-file.ts';
import { programVersion } from '../version.ts';
import { captureEnding, mostCaptureBytes, readCapture } from '../wire/capture-file.ts';
import { writeFixture } from '../wire/capture-fixture.ts';
import { capturePort } from '../wire/capture-port.ts';
import { playCapture } from '../wire/play-capture.ts';
import type { Command, ExitCode, OptionValues, Output } from './command.ts';
import { givenSettings } from './given-settings.ts';
import { countsText, decodedText, entryText, headText, lostText } from './wire-text.ts';

/** With `--port` only. */
const ofPort = ['kind', 'dialect', 'baud', 'settings', 'seconds', 'virtual'] as const;

export const wireCommand: Command = {
  name: 'wire',
  summary: 'list a capture of a wire, play it through its driver, make a fixture of it, or capture a port',
  operand: { name: 'FILE', words: null, help: 'a capture; with --port: a file that is not there yet' },
  options: [
    { name: 'decoded', value: null, help: 'list what the driver reads of it instead of its bytes' },
    { name: 'brief', value: null, help: 'leave the list out' },
    { name: 'fixture', value: 'FOLDER', help: 'write it, and what the driver reads of it, under FOLDER/kind/dialect/' },
    { name: 'name', value: 'NAME', help: 'with --fixture: name of its files, default that of the capture' },
    { name: 'port', value: 'PORT', help: 'capture this port: a path, or HOST:PORT for a network' },
    { name: 'kind', value: 'KIND', help: 'with --port: what kind of instrument it is, as in a rig (required)' },
    { name: 'dialect', value: 'NAME', help: 'with --port: what it speaks, as in a rig (required)' },
    { name: 'baud', value: 'RATE', help: 'with --port: 50 to 4000000, default that of the dialect' },
    { name: 'settings', value: 'FILE', help: 'with --port: settings of the dialect as JSON, default its own' },
    { name: 'seconds', value: 'SECONDS', help: 'with --port: 1 to 86400, default 60; Ctrl-C ends it before' },
    { name: 'virtual', value: null, help: 'with --port: the instrument is a simulated one' },
  ],
  notes: [
    'Text and hexadecimal digits stand beside each other; ␍ and ␊ are carriage return and line feed, and what is wrong',
    'is a line that begins with PROBLEM. The rig screen captures the instruments of a rig that is open.',
    'A fixture is what the driver reads today: look through it before you keep it.',
    'Exit status 0: whole. 1: cut short, or with losses; with --port also: it stopped by itself, or the',
    'connection was lost. 2: wrong usage.',
  ],
  run(values, output) {
    const path = values.operand();
    const captures = values.has('port');
    for (const [names, belongs] of [
      [ofPort, captures],
      [['decoded', 'brief', 'fixture'], !captures],
      [['name'], values.has('fixture')],
    ] as const) {
      const stray = names.find((name) => values.has(name) && !belongs);
      if (stray !== undefined) throw wrong(`--${stray} does not go with the others`, 'See --help.');
    }
    return captures ? capture(path, values, output) : list(path, values, output);
  },
};

async function list(path: string, values: OptionValues, output: Output): Promise<ExitCode> {
  const found = readCapture(readGivenFile(path, 'capture', 'Check the path.', mostCaptureBytes), path);
  const played = await playCapture(found);
  const fixture = values.optional('fixture');
  const { data: name } = slugSchema.safeParse(values.optional('name') ?? basename(path, captureEnding).toLowerCase());
  if (fixture !== undefined && name === undefined) {
    throw wrong('the name of a fixture is of small letters, digits and hyphens', 'Give one by --name.');
  }
  const written = fixture === undefined || name === undefined ? [] : writeFixture(fixture, name, found, played);
  if (values.json) {
    const { confirmed, problems, readings, rhythms } = played;
    const decoded = { readings, problems, confirmed, rhythms };
    output.line(JSON.stringify({ path, ...found, decoded, fixture: written }));
  } else {
    for (const line of headText(found)) output.line(line);
    if (!values.has('brief')) {
      output.line('');
      if (values.has('decoded')) for (const line of decodedText(played)) output.line(line);
      else for (const entry of found.entries) for (const line of entryText(entry)) output.line(line);
      output.line('');
    }
    for (const line of countsText(found, played)) output.line(line);
    for (const file of written) output.line(`written: ${file}`);
  }
  return found.end !== null && found.missed === 0 ? 0 : 1;
}

async function capture(path: string, values: OptionValues, output: Output): Promise<ExitCode> {
  const [kind, dialect] = [values.text('kind'), values.text('dialect')];
  const { serial } = findDriver(kind, dialect);
  const baudRate = values.wholeNumber('baud', { least: 50, most: 4_000_000, otherwise: serial.baudRate });
  const seconds = values.number('seconds', { least: 1, most: 86_400, otherwise: 60 });
  const clock = createMonotonicClock();
  let stop: (why: string) => void = () => undefined;
  const ended = new Promise<string>((resolve) => {
    stop = resolve;
  });
  const interrupted = (): void => {
    stop('ended by a person');
  };
  process.once('SIGINT', interrupted);
  const cancel = clock.after(seconds * 1_000_000, () => {
    stop(`ended after ${seconds} s`);
  });
  try {
    output.note(`Capturing ${values.text('port')} for ${seconds} s at most; Ctrl-C ends it.`);
    const { capture: state, counts, lost, missed } = await capturePort({
      configuration: { instrument: kind, kind, dialect, settings: givenSettings(values.optional('settings')) },
      connection: connectionOf(values.text('port'), baudRate),
      virtual: values.has('virtual'),
      path,
      program: programVersion,
      clock,
      ended,
    });
    if (values.json) output.line(JSON.stringify({ capture: state, counts, lost, missed }));
    else {
      output.line(`${path}: ${state.bytes} bytes, ${counts.frames} lines or answers, ${counts.receivedBytes} bytes in`);
      for (const { code, count } of counts.problems) output.line(`PROBLEM ${code}: ${count}`);
    }
    if (missed > 0) output.note(lostText(missed));
    if (lost !== null) output.note(`STOPPED: the connection was lost: ${shownText(lost)}`);
    if (state.detail !== null) output.note(`STOPPED: ${state.detail}`);
    return state.state === 'ended' && lost === null && missed === 0 ? 0 : 1;
  } finally {
    cancel();
    process.off('SIGINT', interrupted);
  }
}

/** `/dev/ttyUSB0`, `COM3`, or `host:4100`. */
function connectionOf(port: string, baudRate: number): Connection {
  const network = /^([A-Za-z0-9.-]+|\[[0-9A-Fa-f:]+\]):([0-9]{1,5})$/.exec(port);
  if (network === null) return { transport: 'serial', path: port, baudRate };
  const host = (network[1] ?? '').replaceAll(/^\[|\]$/g, '');
  return { transport: 'tcp', host, port: Number(network[2]) };
}

function wrong(what: string, remedy: string): ChambersideError {
  return new ChambersideError('usage-unknown-option', what, 'chamberside wire', remedy);
}
