import { existsSync, writeFileSync } from 'node:fs';
import { basename } from 'node:path';
import { standingCertificates } from '../../calibration/register/register.ts';
import type { RegisterEntry } from '../../calibration/register/record.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { certifiedQuantities, quantityFacts, registeredKinds } from '../../model/certificate.ts';
import { readGivenBytes } from '../given-file.ts';
import { mostAttachedBytes } from '../store/attached-file.ts';
import type { GivenAttachment } from '../store/attached-file.ts';
import { openLaboratory } from '../store/laboratory.ts';
import type { Laboratory } from '../store/laboratory.ts';
import { codeWords } from './command.ts';
import type { Command, ExitCode, OptionDescription, OptionValues, Output } from './command.ts';
import { historyText, instrumentTable } from './instruments-text.ts';
import type { AskPin } from './people.ts';

/** What one call does; without any of these it lists. Beside each the options that belong to it. */
const actions = {
  add: ['kind', 'maker', 'model', 'serial'],
  certificate: [
    ...['number', 'issuer', 'quantity', 'value', 'unit', 'expanded', 'coverage-factor', 'coverage'],
    ...['issued', 'valid-until', 'file'],
  ],
  place: ['rig', 'instrument', 'port', 'chamber', 'nowhere'],
  withdraw: ['reason'],
  retire: ['reason'],
  history: [],
  fetch: ['out'],
} as const;
type Action = keyof typeof actions;
const actionNames = Object.keys(actions) as Action[];
const reading: ReadonlySet<Action> = new Set<Action>(['history', 'fetch']);

const options: readonly OptionDescription[] = [
  { name: 'laboratory', value: 'FILE', help: 'laboratory file', required: true },
  { name: 'person', value: 'CODE', help: 'who puts it down, a registered technician; the PIN is asked for' },
  { name: 'add', value: 'CODE', help: `an instrument, or a correction of one; ${codeWords.expected}` },
  { name: 'kind', value: 'KIND', help: `with --add: one of ${registeredKinds.join(', ')}` },
  { name: 'maker', value: 'TEXT', help: 'with --add: as it stands on the instrument' },
  { name: 'model', value: 'TEXT', help: 'with --add: as it stands on the instrument' },
  { name: 'serial', value: 'TEXT', help: 'with --add: serial number' },
  { name: 'certificate', value: 'CODE', help: 'a certificate of an instrument; an older one stays in its history' },
  { name: 'number', value: 'TEXT', help: 'with --certificate: its number' },
  { name: 'issuer', value: 'TEXT', help: 'with --certificate: who issued it' },
  { name: 'quantity', value: 'NAME', help: `with --certificate: one of ${certifiedQuantities.join(', ')}` },
  { name: 'value', value: 'NUMBER', help: 'with --certificate: the value that it states' },
  { name: 'unit', value: 'UNIT', help: 'with --certificate: unit of the value, default 1' },
  { name: 'expanded', value: 'NUMBER', help: 'with --certificate: expanded uncertainty U, in the unit of the value' },
  { name: 'coverage-factor', value: 'NUMBER', help: 'with --certificate: k of U = k · u, 1 to 100' },
  { name: 'coverage', value: 'PERCENT', help: 'with --certificate: coverage probability of U, 50 to 99.99; may lack' },
  { name: 'issued', value: 'DAY', help: 'with --certificate: day of issue, 2026-01-31' },
  { name: 'valid-until', value: 'DAY', help: 'with --certificate: last day on which it holds, by UTC' },
  {
    name: 'file',
    value: 'FILE',
    help: `with --certificate: PDF, PNG, JPEG or text of at most ${mostAttachedBytes / 1024 / 1024} MB, kept with it`,
  },
  { name: 'withdraw', value: 'RECORD', help: 'a certificate counts no longer: its number in the history' },
  { name: 'retire', value: 'CODE', help: 'the laboratory has the instrument no longer; it stays in every record' },
  { name: 'reason', value: 'TEXT', help: 'with --withdraw and --retire: why' },
  { name: 'place', value: 'CODE', help: 'where an instrument works from now on' },
  { name: 'rig', value: 'NAME', help: 'with --place: rig of the laboratory' },
  { name: 'instrument', value: 'NAME', help: 'with --place: as this instrument of the rig' },
  { name: 'port', value: 'PROBE', help: 'with --place: in the line of the port with this probe' },
  { name: 'chamber', value: null, help: 'with --place: for the chamber as a whole' },
  { name: 'nowhere', value: null, help: 'with --place: in no rig' },
  { name: 'history', value: 'CODE', help: 'all that was put down of an instrument' },
  { name: 'fetch', value: 'RECORD', help: 'write the file of a certificate to --out' },
  { name: 'out', value: 'FILE', help: 'with --fetch: a file that is not there yet' },
];

export function instrumentsCommand(askPin: AskPin): Command {
  return {
    name: 'instruments',
    summary: 'keep the register of instruments and their certificates',
    options,
    notes: [
      'Without an action it lists what the laboratory has, soonest due first. Nothing that was put down is changed: a',
      'new certificate stands beside the old one, and one that was wrong is withdrawn.',
      `An assessment computes with ${certifiedQuantities.filter((name) => quantityFacts[name].counts).join(', ')};`,
      'the others are kept, frozen with each trial and printed.',
      'Exit status 0: done. 1: refused, or a record is not what was stored. 2: wrong usage.',
    ],
    async run(values, output) {
      const [action, second] = actionNames.filter((name) => values.has(name));
      if (second !== undefined) throw refused(`--${action} and --${second} are two things`, 'Do one after the other.');
      refuseStrangers(values, action);
      const laboratory = openLaboratory(values.text('laboratory'));
      try {
        if (action === undefined) return list(laboratory, values.json, output);
        if (action === 'history') return history(laboratory, values.text('history'), values.json, output);
        if (action === 'fetch') return fetchFile(laboratory, values, output);
        const { entry, file } = entryOf(laboratory, action, values);
        const person = await technician(laboratory, values.text('person'), askPin);
        const record = laboratory.register.add(entry, person, file);
        output.line(values.json ? JSON.stringify({ record, entry }) : `Put down as record ${record}.`);
        return 0;
      } finally {
        laboratory.close();
      }
    },
  };
}

/** Options of another action are refused: they were meant for something that is not done. */
function refuseStrangers(values: OptionValues, action: Action | undefined): void {
  const own: readonly string[] = action === undefined ? [] : actions[action];
  for (const name of actionNames) {
    for (const option of actions[name]) {
      if (!values.has(option) || own.includes(option)) continue;
      throw refused(`--${option} belongs to --${name}`, `Leave it out, or add --${name}.`);
    }
  }
  const writes = action !== undefined && !reading.has(action);
  if (!writes && values.has('person')) throw refused('--person belongs to what is put down', 'Leave it out.');
}

/** @throws ChambersideError `person-not-found`, `pin-wrong`, `role-missing`. */
async function technician(laboratory: Laboratory, code: string, askPin: AskPin): Promise<string> {
  const { roles } = laboratory.activePerson(code);
  if (!roles.includes('technician')) {
    const remedy = 'Name a technician. Roles are given when a person is added.';
    throw new ChambersideError('role-missing', 'The person is no technician', code, remedy);
  }
  await laboratory.verifyPin(code, await askPin(`PIN of ${code}`));
  return code;
}

function entryOf(
  laboratory: Laboratory,
  action: Exclude<Action, 'history' | 'fetch'>,
  values: OptionValues,
): { readonly entry: RegisterEntry; readonly file: GivenAttachment | null } {
  switch (action) {
    case 'add': {
      const [kind, maker, model, serial] = actions.add.map((name) => values.text(name));
      const known = registeredKinds.find((one) => one === kind) ?? values.oneOf('kind', registeredKinds, 'other');
      const texts = { maker: maker ?? '', model: model ?? '', serial: serial ?? '' };
      return { entry: { entry: 'instrument', instrument: values.text('add'), kind: known, ...texts }, file: null };
    }
    case 'certificate':
      return certificateOf(values);
    case 'place':
      return { entry: { entry: 'placed', instrument: values.text('place'), ...placeOf(values) }, file: null };
    case 'retire': {
      const entry = { entry: 'retired' as const, instrument: values.text('retire'), reason: values.text('reason') };
      return { entry, file: null };
    }
    case 'withdraw': {
      const record = recordOf(values, 'withdraw');
      const found = laboratory.register
        .entries()
        .find(({ certificates }) => certificates.some((kept) => kept.record === record));
      if (found === undefined) {
        const remedy = 'Its number stands in the history of its instrument.';
        throw new ChambersideError('certificate-not-found', 'No certificate has this number', `${record}`, remedy);
      }
      const { instrument } = found;
      return { entry: { entry: 'withdrawn', instrument, record, reason: values.text('reason') }, file: null };
    }
  }
}

function certificateOf(values: OptionValues): ReturnType<typeof entryOf> {
  const number = (name: string, least: number, most: number): number => {
    values.text(name);
    return values.number(name, { least, most, otherwise: 0 });
  };
  const path = values.optional('file');
  const remedy = 'Check the path.';
  const file =
    path === undefined
      ? null
      : { name: basename(path), bytes: readGivenBytes(path, 'certificate', remedy, mostAttachedBytes) };
  values.text('quantity');
  const entry: RegisterEntry = {
    entry: 'certificate',
    instrument: values.text('certificate'),
    certificate: {
      number: values.text('number'),
      issuer: values.text('issuer'),
      quantity: values.oneOf('quantity', certifiedQuantities, 'other'),
      unit: values.optional('unit') ?? '1',
      value: number('value', -1e9, 1e9),
      expandedUncertainty: number('expanded', 0, 1e9),
      coverageFactor: number('coverage-factor', 1, 100),
      ...(values.has('coverage') ? { coveragePercent: number('coverage', 50, 99.99) } : {}),
      issuedOn: values.text('issued'),
      validUntil: values.text('valid-until'),
    },
  };
  return { entry, file };
}

function placeOf(values: OptionValues): Pick<Extract<RegisterEntry, { entry: 'placed' }>, 'rig' | 'at'> {
  const [at, second] = (['instrument', 'port', 'chamber', 'nowhere'] as const).filter((name) => values.has(name));
  if (at === undefined || second !== undefined) {
    throw refused('--place takes one of --instrument, --port, --chamber and --nowhere', 'Give one of them.');
  }
  if (at === 'nowhere') {
    if (values.has('rig')) throw refused('--rig and --nowhere exclude each other', 'Leave one out.');
    return { rig: null, at: null };
  }
  const rig = values.text('rig');
  return { rig, at: at === 'chamber' ? { place: at } : { place: at, name: values.text(at) } };
}

function list(laboratory: Laboratory, json: boolean, output: Output): ExitCode {
  const now = Date.now();
  const { altered } = laboratory.register.read();
  const entries = laboratory.register.entries();
  if (json) {
    const instruments = entries.map((entry) => ({ ...entry, standing: standingCertificates(entry, now) }));
    output.line(JSON.stringify({ instruments, altered }));
  } else {
    output.line(instrumentTable(entries, now));
  }
  return sayAltered(altered, output);
}

function history(laboratory: Laboratory, code: string, json: boolean, output: Output): ExitCode {
  const { altered, records } = laboratory.register.read();
  const own = records.filter(({ entry }) => entry.instrument === code);
  if (own.length === 0) {
    const what = 'The register has no such instrument';
    throw new ChambersideError('instrument-not-found', what, code, 'List them without --history.');
  }
  output.line(json ? JSON.stringify({ records: own, altered }) : historyText(own));
  return sayAltered(altered, output);
}

function sayAltered(altered: readonly number[], output: Output): ExitCode {
  if (altered.length === 0) return 0;
  output.note(`Not what was stored, or gone, and left out: record ${altered.join(', ')}.`);
  return 1;
}

function fetchFile(laboratory: Laboratory, values: OptionValues, output: Output): ExitCode {
  const record = recordOf(values, 'fetch');
  const out = values.text('out');
  const found = laboratory.register.file(record);
  if (found === null) {
    const what = 'No file came with this certificate';
    throw new ChambersideError('file-not-found', what, `record ${record}`, 'Choose another one.');
  }
  if (existsSync(out)) {
    throw new ChambersideError('file-exists', 'The file exists already', out, 'Choose another name.');
  }
  writeFileSync(out, found.bytes, { flag: 'wx' });
  const { bytes, digest, mediaType, name } = found.file;
  const text = `${out}: ${name}, ${mediaType}, ${bytes} bytes, SHA-256 ${digest}`;
  output.line(values.json ? JSON.stringify({ record, out, file: found.file }) : text);
  return 0;
}

function recordOf(values: OptionValues, name: string): number {
  return values.wholeNumber(name, { least: 1, most: 1e9, otherwise: 0 });
}

function refused(what: string, remedy: string): ChambersideError {
  return new ChambersideError('usage-unknown-option', what, 'chamberside instruments', remedy);
}
