import { initialCredit, type SampleMessage } from '../../../src/bridge/samples.ts';
import { encodeFrame } from '../../../src/bridge/frame.ts';
import type { PersonView, Snapshot } from '../../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../../src/bridge/trial-snapshot.ts';
import type { AskingWindow, HostProcedures, ServedHost } from '../../../src/host/door/served-host.ts';
import { ChambersideError } from '../../../src/model/error-code.ts';
import { makeIdentifier } from '../../../src/model/identity.ts';

/** A host that does little and that honestly: people, a clock, one stream of samples with credit and history. */
export interface TestHost {
  readonly host: ServedHost;
  /** Changes the state: the next version. */
  change(): void;
  readonly version: number;
  /** How many listen for snapshots now. */
  readonly listeners: number;
  /** Offers one live sample to every window that subscribes and has credit. */
  sample(value: number): void;
  /** `opened 3`, `closed 3`, in order. */
  readonly windowLog: readonly string[];
  /** For whom each window that opened said it was. */
  readonly displays: readonly string[];
  readonly openChannels: number;
  readonly waitingBytes: () => number;
  /** A trial comes under way, in the phase given; null: there is none. */
  setTrial(phase: TrialSnapshot['phase'] | null): void;
}

/** Text that makes a snapshot as large as one in the middle of a trial, about 64 kB. */
const bulk = 'x'.repeat(64 * 1024);

export function createTestHost(): TestHost {
  let version = 1;
  const people: PersonView[] = [];
  let person: PersonView | null = null;
  let trial: TrialSnapshot | null = null;
  const listeners = new Set<(snapshot: Snapshot) => void>();
  const windowLog: string[] = [];
  const displays: string[] = [];
  const channels = new Set<TestChannel>();
  const hostId = makeIdentifier('host', new Uint8Array(12));

  const snapshot = (): Snapshot => ({
    version,
    host: {
      hostId,
      program: 'test',
      startedAt: '2030-01-01T00:00:00.000Z',
      folder: bulk,
      freeBytes: null,
      windows: windowLog.filter((line) => line.startsWith('opened')).length,
      subjectDisplays: 0,
    },
    person,
    people: [...people],
    studies: [],
    rigs: [],
    series: [],
    scenarios: [],
    rig: {
      state: 'closed',
      failure: null,
      rig: null,
      streams: [],
      instruments: [],
      valve: { requestedPort: null, confirmedPort: null, state: 'unknown', answerMilliseconds: null },
      checks: { running: null, failure: null, results: [] },
      doubtfulCertificates: [],
      virtualRig: null,
    },
    trial,
    alarms: [],
    limitsWatched: 0,
    record: null,
    replay: null,
  });
  const change = (): void => {
    version += 1;
    const now = snapshot();
    for (const listener of [...listeners]) listener(now);
  };
  const noTrial = async (): Promise<never> => {
    throw new ChambersideError('trial-not-found', 'No trial is under way', 'this host', 'Prepare one.');
  };
  const noRig = async (): Promise<never> => {
    throw new ChambersideError('port-not-found', 'No rig is open', 'this host', 'Open one.');
  };
  const procedures: HostProcedures = {
    person: {
      async choose({ code }) {
        const found = people.find((each) => each.code === code) ?? null;
        if (code !== null && found === null) {
          throw new ChambersideError('person-not-found', 'Nobody has this code', code, 'Choose another.');
        }
        person = found;
        change();
        return {};
      },
      async add({ code, name, roles }) {
        const added = { person: makeIdentifier('person', new Uint8Array(12).fill(people.length)), code, name, roles };
        people.push(added);
        change();
        return added;
      },
    },
    rig: {
      startVirtual: noRig,
      open: noRig,
      close: noRig,
      selectPort: noRig,
      setOutput: noRig,
      retry: noRig,
      connect: noRig,
      offeredPorts: async () => ({ ports: [], note: null }),
      line: noRig,
      askPorts: noRig,
      dialects: async () => [{ kind: 'contact', dialect: 'lines', title: 'Contacts' }],
      template: async () => {
        throw new TypeError('secret words of a defect');
      },
      save: noRig,
      versions: async () => [],
      difference: noRig,
      wire: noRig,
      beginCapture: noRig,
      endCapture: noRig,
      beginCheck: noRig,
      answerCheck: noRig,
      cancelCheck: noRig,
      checkHistory: noRig,
      checkGround: noRig,
    },
    register: {
      view: async () => ({ instruments: [], altered: [], rigs: [] }),
      history: async () => ({ records: [], courses: [], unreadable: [] }),
      add: noRig,
    },
    series: { list: async () => [], scatter: async () => null, save: async () => ({ version: 1 }) },
    study: {
      create: async ({ name }) => ({ file: `${name}.chamberside` }),
      async refresh() {
        change();
        return {};
      },
      summary: noTrial,
      whatIf: noTrial,
      report: noTrial,
    },
    trial: {
      preview: noTrial,
      prepare: noTrial,
      repeat: noTrial,
      resume: noTrial,
      command: noTrial,
      answer: noTrial,
      answerAfter: noTrial,
      leave: noTrial,
      result: noTrial,
      explain: noTrial,
      report: noTrial,
      assess: noTrial,
      review: noTrial,
      void: noTrial,
      sign: noTrial,
      difference: noTrial,
    },
    replay: { open: noTrial, change: noTrial, close: noTrial },
    alarm: { acknowledge: noTrial },
  };
  const host: ServedHost = {
    procedures,
    clock: () => ({ machineMilliseconds: performance.now(), trialMicroseconds: null }),
    snapshot,
    onSnapshot(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    openSamples(send, waitingBytes) {
      const channel = new TestChannel(send, waitingBytes);
      channels.add(channel);
      return {
        receive: (message) => channel.receive(message),
        close: () => {
          if (!channels.delete(channel)) throw new Error('a channel was closed twice');
        },
      };
    },
    windowOpened({ window, display }: AskingWindow) {
      windowLog.push(`opened ${window}`);
      displays.push(display ?? 'unsaid');
    },
    windowClosed: ({ window }: AskingWindow) => void windowLog.push(`closed ${window}`),
  };
  return {
    host,
    change,
    get version() {
      return version;
    },
    get listeners() {
      return listeners.size;
    },
    sample: (value) => {
      for (const channel of channels) channel.sample(value);
    },
    windowLog,
    displays,
    get openChannels() {
      return channels.size;
    },
    setTrial(phase) {
      trial = phase === null ? null : trialIn(phase);
      change();
    },
    waitingBytes: () => [...channels].reduce((sum, channel) => sum + channel.waitingBytes(), 0),
  };
}

function trialIn(phase: TrialSnapshot['phase']): TrialSnapshot {
  const names = { subject: 'S01', ensemble: 'A', operator: 'AB', virtual: true, program: 'test' };
  const trial = makeIdentifier('trial', new Uint8Array(12));
  return {
    trial,
    file: 'test.chamberside',
    header: { trial, study: makeIdentifier('study', new Uint8Array(12)), ...names },
    phase,
    heldBecause: null,
    reason: null,
    ending: 'no',
    endingFailure: null,
    atMicroseconds: 0,
    endsAtMicroseconds: null,
    now: {
      kind: 'rest',
      stage: null,
      exercise: null,
      sinceMicroseconds: 0,
      untilMicroseconds: null,
      port: null,
      probe: null,
      purpose: null,
      air: 'none',
      usableFromMicroseconds: null,
      dwellUntilMicroseconds: null,
      lengthenedMicroseconds: 0,
    },
    next: { kind: 'end', exercise: null, seconds: null },
    exercises: [],
    dwells: [],
    planned: [],
    lanes: [],
    challenge: null,
    filteredAir: null,
    requirementPercent: null,
    ...{ after: [], afterHolds: false },
    heartRateLimit: null,
    subjectStop: 'none',
    before: [],
    allowed: [],
    notes: [],
    counts: { readings: 0, problems: 0, dwells: 0, alarms: 0 },
  };
}

/** One stream, index 0; history answers with one sample for each second asked for. */
class TestChannel {
  readonly waitingBytes: () => number;
  readonly #send: (frame: Uint8Array<ArrayBuffer>) => void;
  #credit = initialCredit;
  #subscribed = false;
  #number = 0;
  #leftOut = 0;

  constructor(send: (frame: Uint8Array<ArrayBuffer>) => void, waitingBytes: () => number) {
    this.#send = send;
    this.waitingBytes = waitingBytes;
  }

  receive(message: SampleMessage): void {
    if (message.message === 'hello') throw new Error('the hello is the door’s own');
    if (message.message === 'credit') this.#credit += message.frames;
    if (message.message === 'subscribe') this.#subscribed = message.streams.includes(0);
    if (message.message !== 'history') return;
    const { request: number, stream, fromMicroseconds: from, toMicroseconds: to } = message;
    const times = Float64Array.from({ length: Math.floor((to - from) / 1e6) + 1 }, (_, second) => from + second * 1e6);
    const frame = { stream, number, leftOut: 0, startMicroseconds: from };
    this.#send(encodeFrame({ ...frame, kind: 'history', times, values: times.map((at) => at / 1e6) }));
    const none = new Float64Array(0);
    this.#send(encodeFrame({ ...frame, kind: 'history-end', times: none, values: none }));
  }

  sample(value: number): void {
    if (!this.#subscribed) return;
    if (this.#credit === 0) {
      this.#leftOut += 1;
      return;
    }
    this.#credit -= 1;
    const at = this.#number * 1e5;
    const content = { startMicroseconds: at, times: Float64Array.of(at), values: Float64Array.of(value) };
    this.#send(encodeFrame({ kind: 'live', stream: 0, number: this.#number, leftOut: this.#leftOut, ...content }));
    this.#number += 1;
    this.#leftOut = 0;
  }
}
