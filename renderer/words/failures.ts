import type { Failure } from '../../src/bridge/snapshot.ts';
import { errorCodes, type ErrorCode } from '../../src/model/error-code.ts';

/** Where the thing that is missing is put right. */
export type Remedy = 'person' | 'rig';

interface Entry {
  /** What to do; null where only the host knows, and says it. */
  readonly act: string | null;
  readonly at?: Remedy;
}

const again = 'Try again. When it comes back, restart the program; what is recorded is safe.';
const otherFile = 'Nothing in the file was changed. Choose another one.';

/** For every way in which the host can refuse, what the person at this screen can do. */
const entries: Readonly<Record<ErrorCode | 'contact-lost', Entry>> = {
  'usage-unknown-command': { act: again },
  'usage-unknown-option': { act: again },
  'usage-bad-value': { act: 'Correct the value that is named, then try again.' },
  'configuration-invalid': { act: 'Correct what is named, then try again.' },
  'driver-unknown': { act: 'Choose an instrument that this program knows, in the form of the rig.', at: 'rig' },
  'schedule-impossible': { act: 'Choose another series, or a rig with the ports that this one needs.' },
  'port-not-found': { act: 'Plug the adapter in, or choose the port under which it is now.', at: 'rig' },
  'port-ambiguous': { act: 'Choose the port by its name, or leave only one that fits plugged in.', at: 'rig' },
  'port-busy': { act: 'Close the other program, or choose another port.', at: 'rig' },
  'port-failed': { act: 'Look at the cable and at the instrument’s power, then try again.', at: 'rig' },
  'transport-closed': { act: 'Look at the cable, then try again.', at: 'rig' },
  'request-timed-out': { act: 'Look whether the instrument is on and connected, then try again.', at: 'rig' },
  'request-cancelled': { act: 'Try again when it is wanted.' },
  'request-refused': { act: 'Look at the instrument: it has said no. Then try again.', at: 'rig' },
  'answer-unexpected': { act: 'Look at the instrument and its settings in the form of the rig.', at: 'rig' },
  'position-unconfirmed': { act: 'Look at the valve: nothing else can say where it stands.', at: 'rig' },
  'file-not-found': { act: 'Look whether the file is still in the folder, then read the folder again.' },
  'file-not-ours': { act: otherFile },
  'file-unreadable': { act: 'Have the rights of the file put right, or choose another one.' },
  'file-newer': { act: 'Open it with the newer version. Nothing in the file was changed.' },
  'import-invalid': { act: 'Have it exported again, or copied again; nothing was taken in.' },
  'trial-exists': { act: 'Leave it as it is, or choose another study.' },
  'file-damaged': { act: 'Keep the file as it is, with those beside it, and work on a copy.' },
  'file-exists': { act: 'Choose another name.' },
  'file-on-network': { act: 'Record into a folder of this machine, and move the file when the trial is closed.' },
  'study-in-use': { act: 'End the other program that records into it, then try again.' },
  'folder-unusable': { act: 'Have the rights of the folder put right, or start the program with another one.' },
  'folder-in-use': { act: 'Use the program that works in this folder, or end it.' },
  'trial-not-found': { act: 'Go back to the start and choose a trial from its study.' },
  'assessment-not-found': { act: 'Choose one of the assessments that are listed.' },
  'cell-not-found': { act: 'Choose a value of the table.' },
  'instrument-not-found': { act: 'Choose an instrument of the register, or add it first.' },
  'instrument-exists': { act: 'Use the entry that is there, or correct the serial number.' },
  'certificate-not-found': { act: 'Choose a certificate of the register.' },
  'check-not-found': { act: 'Choose one of the checks that are listed.' },
  'trial-sealed': { act: 'Look at its result; a sealed trial stays as it is.' },
  'trial-not-finished': { act: 'Take the trial up from the start screen, and close it.' },
  'action-refused': { act: null },
  'commit-failed': { act: 'Look at the disk. Then start the program again and take the trial up.' },
  'disk-full': { act: 'Free some space on the disk, then try again.' },
  'person-missing': { act: 'Say who is at the rig; then it can be done.', at: 'person' },
  'person-not-found': { act: 'Choose somebody else, or add the person.', at: 'person' },
  'person-exists': { act: 'Choose another code.' },
  'pin-wrong': { act: 'Type the PIN again.' },
  'role-missing': { act: 'Choose somebody who is a reviewer. Roles are given when a person is added.' },
  'key-not-found': { act: 'Have the laboratory’s key made once, on the machine of the laboratory file.' },
  'key-unusable': { act: 'Take the key from everybody but its owner. If somebody may have read it, make another.' },
  'record-insufficient': { act: 'Look at the trace: what the method needs was not measured. Record another trial.' },
  'outside-validity': { act: 'Check the value and its unit, or measure what the formula would have estimated.' },
  'guard-failed': { act: 'Bring loads to zero by hand. Close the rig and open it again.', at: 'rig' },
  'rig-process-failed': { act: 'Start the virtual rig again.', at: 'rig' },
  internal: { act: again },
  'contact-lost': { act: 'Wait until the window has found the recorder again, then try once more.' },
};

/** A refusal as a person reads it: no codes, no names of fields or procedures. */
export interface FailureWords {
  readonly what: string;
  /** A file, a port, a rig: something that a person knows by this name. Null where there is none. */
  readonly where: string | null;
  readonly act: string;
  readonly at: Remedy | null;
}

/** Names by which the program knows its own parts: identifiers, fields, procedures and their fields. */
const internalPlace = new RegExp(
  '^(?:[a-z]+-[0-9a-f]{12}|[a-z]+[A-Z][A-Za-z]*|person|rig|series|scenario|replay|host|writer|laboratory|' +
    '(?:person|rig|study|trial|replay|alarm)\\.(?!chamberside$)[\\w.]+)$',
);
/** A field of a procedure, whose words are those of a schema. */
const fieldPlace = /^[a-z]+\.[A-Za-z.]*?([A-Za-z]+)(?:\.\d+)*$/;

export function failureWords(failure: Failure): FailureWords {
  const { code, where } = failure;
  const known = Object.hasOwn(entries, code) ? entries[code as keyof typeof entries] : undefined;
  const field = code === 'usage-bad-value' ? fieldPlace.exec(where)?.[1] : undefined;
  const what = field === undefined ? failure.what : `The value of “${spaced(field)}” does not have the form it needs`;
  return {
    what: sentence(what === '' ? (errorCodes[code as ErrorCode] ?? 'That did not succeed') : what),
    where: where === '' || internalPlace.test(where) ? null : where,
    act: known?.act ?? sentence(failure.remedy),
    at: known?.at ?? null,
  };
}

export const remedyWords: Readonly<Record<Remedy, string>> = {
  person: 'Say who is at the rig',
  rig: 'To the rig',
};

function spaced(name: string): string {
  return name.replaceAll(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
}

function sentence(text: string): string {
  const trimmed = text.trim();
  return `${trimmed.charAt(0).toUpperCase()}${trimmed.slice(1)}${/[.!?…]$/.test(trimmed) ? '' : '.'}`;
}
