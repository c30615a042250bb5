import { overloadFollows } from '../../src/device/wire-load.ts';

export const portWords = {
  offered: 'Ports of this machine',
  nothingKnown: 'nothing more is known of it',
  usedBy: (user: string) => `in use: ${user}`,
  askThis: (path: string) => `Ask at ${path}`,
  lookAgain: 'Look again',
  asking: 'Asking',
  ask: (count: number, writes: boolean) => {
    const ports = count === 0 ? 'ticked ports' : count === 1 ? 'one port' : `${count} ports`;
    return writes ? `Ask ${ports}` : `Listen at ${ports}`;
  },
  listens: (seconds: number) =>
    `To find it, tick ports that may be opened and listened to for ${seconds} s each. Nothing is written.`,
  writesBefore: 'To find it, tick ports that may be asked: ',
  writesAfter: (seconds: number) =>
    ` is written to whatever is connected there, and the answer is awaited for ${seconds} s. ` +
    'Tick nothing that such bytes could set off.',
  notRecognised: 'Nothing that such an instrument says tells it from others: it cannot be searched for.',
  recognised: (told: string | null) => (told === null ? 'it fits' : `it is ${told}`),
  notHere: (detail: string) => `not here: ${detail}`,
  remembered: (identity: string) => `Found again as ${identity}, under whatever name it has that day.`,
  byName: 'Only by its name',
  onlyByName: (path: string) =>
    `Nothing that the machine says tells ${path} from another port: it is taken by its name only, whatever is there ` +
    'on another day.',
  load: (load: string) => `It sends at least ${load}.`,
  overload: (overload: string) => `Too slow: ${overload}. ${overloadFollows}`,
};
