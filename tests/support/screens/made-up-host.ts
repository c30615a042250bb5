import { reportStepSchema } from '../../../src/bridge/report-part.ts';
import { encodeFrame, largestFrameSamples } from '../../../src/bridge/frame.ts';
import { heartbeatMilliseconds, initialCredit } from '../../../src/bridge/samples.ts';
import type { CaptureState } from '../../../src/bridge/wire.ts';
import type { HostProcedures, SampleChannel, ServedHost } from '../../../src/host/door/served-host.ts';
import { reportParts, type ReportMaker } from '../../../src/host/runtime/report-parts.ts';
import { ChambersideError } from '../../../src/model/error-code.ts';
import { madeUpReadings, ownRig, preview, result } from './made-up.ts';
import { madeUpGround, madeUpHistory } from './made-up-checks.ts';
import { explanationAt } from './made-up-explanation.ts';
import { heartRateAt, readingAt } from './made-up-trial.ts';
import { madeUpPorts } from './made-up-ports.ts';
import { madeUpRegister } from './made-up-register.ts';
import { madeUpRigDifference, madeUpVersions } from './made-up-rigs.ts';
import { madeUpWire } from './made-up-wire.ts';
import { watchedValues } from './watched-scenes.ts';
import { madeUpStudies, madeUpWhatIf } from './made-up-study.ts';
import { madeUpScatter, madeUpSeries } from './made-up-series.ts';
import { madeUpDifference } from './made-up-review.ts';
import { otherResults } from './place-scenes.ts';
import type { Scene } from './scenes.ts';

/** A host that shows one scene at a time behind a real door, so that a window can be looked at in every condition. */
export interface MadeUpHost {
  readonly host: ServedHost;
  /** @returns version of the snapshot that it makes; a window carries the one it shows. */
  show(scene: Scene): number;
  /** No heartbeat, no snapshot, no sample until it is called with false. */
  fallSilent(silent: boolean): void;
  /** Procedures that were asked for, `trial.command stop`. */
  readonly asked: readonly string[];
}

/** A file of some pieces, and steps before it that can be seen. */
export const madeUpReportBytes = Uint8Array.from({ length: 120_001 }, (_, index) => index % 251);
const madeUpReport: ReportMaker = async (onStep) => {
  for (const step of reportStepSchema.options) {
    onStep(step);
    await new Promise((resolve) => setTimeout(resolve, 300));
  }
  return { bytes: madeUpReportBytes };
};

export function createMadeUpHost(first: Scene): MadeUpHost {
  let scene = first;
  let base = 1;
  let version = 1;
  let began = performance.now();
  let silent = false;
  const asked: string[] = [];
  const captures = new Map<string, CaptureState>();
  const listeners = new Set<() => void>();
  const now = (): number | null => (scene.at === null ? null : scene.at + (performance.now() - began) * 1000);
  const snapshot = () => ({ ...scene.snapshot, version });
  const done = async (what: string): Promise<Record<string, never>> => {
    asked.push(what);
    return {};
  };
  const procedures: HostProcedures = {
    person: {
      choose: () => done('person.choose'),
      add: async ({ code, name, roles }) => ({ person: 'p-000000000009', code, name, roles }),
    },
    rig: {
      startVirtual: () => done('rig.startVirtual'),
      open: () => done('rig.open'),
      close: () => done('rig.close'),
      selectPort: ({ port }) => done(`rig.selectPort ${port}`),
      setOutput: () => done('rig.setOutput'),
      retry: () => done('rig.retry'),
      connect: ({ settings }) => done(`rig.connect ${JSON.stringify(settings)}`),
      ...madeUpPorts(done),
      dialects: async () => [
        { kind: 'contact', dialect: 'lines', title: 'Stop contacts, door and beacon, as text lines' },
        { kind: 'climate', dialect: 'lines', title: 'Climate, as text lines' },
      ],
      template: async () => ownRig,
      async save({ rig }) {
        await done(`rig.save ${JSON.stringify({ name: rig.name, virtual: rig.virtual, watch: rig.watch })}`);
        return { version: 1 };
      },
      versions: async () => madeUpVersions(),
      difference: async ({ from, to }) => ({ changes: madeUpRigDifference(from, to) }),
      async wire({ instrument, after }) {
        return madeUpWire((performance.now() - began) / 1000, after, captures.get(instrument) ?? null);
      },
      async beginCapture({ instrument }) {
        await done(`rig.beginCapture ${instrument}`);
        const path = `/home/laboratory/Chamberside/${instrument}-20261125T091500000Z.wire.jsonl`;
        const capture: CaptureState = { state: 'running', path, bytes: 48_200, detail: null };
        captures.set(instrument, capture);
        return capture;
      },
      async endCapture({ instrument }) {
        await done(`rig.endCapture ${instrument}`);
        const running = captures.get(instrument);
        if (running === undefined) throw new ChambersideError('action-refused', 'None runs', instrument, 'Begin one.');
        const capture: CaptureState = { ...running, state: 'ended' };
        captures.set(instrument, capture);
        return capture;
      },
      beginCheck: ({ check, condition }) => done(`rig.beginCheck ${check} ${condition}`),
      answerCheck: ({ answers }) => done(`rig.answerCheck ${JSON.stringify(answers)}`),
      cancelCheck: () => done('rig.cancelCheck'),
      checkHistory: async ({ check, subject }) => madeUpHistory(scene.snapshot.rig.checks.results, check, subject),
      checkGround: async ({ number }) => ({ ground: await madeUpGround(number % 100) }),
    },
    register: madeUpRegister(() => scene, done),
    series: {
      list: async () => madeUpSeries,
      scatter: async () => ({ shown: madeUpScatter, unread: [] }),
      async save({ series }) {
        await done(`series.save ${JSON.stringify(series)}`);
        return { version: 1 };
      },
    },
    study: {
      create: async () => ({ file: 'new.chamberside' }),
      refresh: () => done('study.refresh'),
      async summary({ file }) {
        const found = madeUpStudies().find((one) => one.file === file);
        if (found !== undefined) return found;
        throw new ChambersideError('file-not-found', 'There is no such file', file, 'Check the path.');
      },
      whatIf: async (asked) => madeUpWhatIf(asked),
      report: async ({ format }) => reportParts(madeUpReport, `coveralls.${format}`),
    },
    trial: {
      preview: async () => preview,
      prepare: async () => ({ trial: 't-000000000051' }),
      async repeat({ trial, from }) {
        await done(`trial.repeat ${trial} ${from ?? '-'}`);
        return { trial: 't-000000000052' };
      },
      resume: () => done('trial.resume'),
      answer: ({ item, answer, second }) => done(`trial.answer ${item} ${answer} ${second ?? '-'}`),
      command: ({ action, note }) => done(`trial.command ${action}${note === '' ? '' : ` ${note}`}`),
      answerAfter: ({ item, answer, note }) => done(`trial.answerAfter ${item} ${answer} ${note}`),
      leave: () => done('trial.leave'),
      async result({ trial }) {
        const found = [result, ...Object.values(otherResults)].find((one) => one.trial === trial);
        if (found !== undefined) return found;
        throw new ChambersideError('trial-not-found', 'The study holds no such trial', trial, 'Choose another.');
      },
      async explain({ exercise, probe }) {
        return { explanation: explanationAt(exercise, probe), stored: null };
      },
      async report({ trial, format }) {
        return reportParts(madeUpReport, `${trial}.${format}`);
      },
      assess: () => done('trial.assess'),
      async review({ leftOut, method, person, pin, reason }) {
        if (pin !== '4711') throw new ChambersideError('pin-wrong', 'The PIN does not match', person, 'Try again.');
        await done(`trial.review ${JSON.stringify({ leftOut, method, person, reason })}`);
        return { assessment: 'a-000000000009' };
      },
      async void({ decision, person, pin, reason }) {
        if (pin !== '4711') throw new ChambersideError('pin-wrong', 'The PIN does not match', person, 'Try again.');
        return done(`trial.void ${decision} ${person} ${reason}`);
      },
      async sign({ assessment, person, pin, reason, step }) {
        if (pin !== '4711') throw new ChambersideError('pin-wrong', 'The PIN does not match', person, 'Try again.');
        return done(`trial.sign ${assessment} ${step} ${person} ${reason}`);
      },
      difference: async () => madeUpDifference,
    },
    replay: {
      open: () => done('replay.open'),
      change: (change) => done(`replay.change ${JSON.stringify(change)}`),
      close: () => done('replay.close'),
    },
    alarm: { acknowledge: ({ alarm, reason }) => done(`alarm.acknowledge ${alarm} ${reason}`) },
  };

  const openSamples: ServedHost['openSamples'] = (send) => {
    let credit = initialCredit;
    let streams: readonly number[] = [];
    let sentTo = now() ?? 0;
    let sentBase = base;
    let counter = 0;
    const beat = (): void => {
      if (silent) return;
      const at = now() ?? Number.NaN;
      const none = new Float64Array(0);
      counter += 1;
      const time = { startMicroseconds: at, times: none, values: none };
      send(encodeFrame({ kind: 'heartbeat', stream: base, number: counter, leftOut: 0, ...time }));
    };
    const live = (): void => {
      const at = now();
      if (silent || at === null) return;
      if (sentBase !== base) sentTo = at;
      sentBase = base;
      for (const stream of streams) {
        const samples = samplesBetween(stream, sentTo, at);
        if (samples.times.length === 0 || credit === 0) continue;
        credit -= 1;
        counter += 1;
        const startMicroseconds = samples.times[0] ?? at;
        send(encodeFrame({ kind: 'live', stream, number: counter, leftOut: 0, startMicroseconds, ...samples }));
      }
      sentTo = at;
    };
    beat();
    const beating = setInterval(beat, heartbeatMilliseconds);
    const living = setInterval(live, 50);
    const channel: SampleChannel = {
      receive(message) {
        if (message.message === 'credit') credit += message.frames;
        if (message.message === 'subscribe') streams = message.streams;
        if (message.message !== 'history') return;
        const all =
          message.of === null
            ? samplesBetween(message.stream, message.fromMicroseconds, message.toMicroseconds)
            : madeUpReadings();
        for (let from = 0; from < all.times.length; from += largestFrameSamples) {
          const times = all.times.slice(from, from + largestFrameSamples);
          const values = all.values.slice(from, from + largestFrameSamples);
          const head = { stream: message.stream, number: message.request, leftOut: 0 };
          send(encodeFrame({ kind: 'history', ...head, startMicroseconds: times[0] ?? 0, times, values }));
        }
        const none = new Float64Array(0);
        const end = { stream: message.stream, number: message.request, leftOut: 0, startMicroseconds: 0 };
        send(encodeFrame({ kind: 'history-end', ...end, times: none, values: none }));
      },
      close() {
        clearInterval(beating);
        clearInterval(living);
      },
    };
    return channel;
  };

  /** Photometer and belt on their grid, contacts at rest; left out after the scene's silence for the photometer. */
  const samplesBetween = (stream: number, from: number, to: number): { times: Float64Array; values: Float64Array } => {
    const step = [50_000, 1_000_000][stream] ?? 200_000;
    const until = stream === 0 && scene.silentFrom !== undefined ? Math.min(to, scene.silentFrom) : to;
    const times: number[] = [];
    const exertion = (at: number): number =>
      heartRateAt(at) + (scene.exertion ?? 0) * Math.min(1, Math.max(0, (at - (scene.at ?? 0)) / 30e6 + 1));
    for (let at = Math.ceil(Math.max(from, 1) / step) * step; at < until; at += step) times.push(at);
    return {
      times: Float64Array.from(times),
      values: Float64Array.from(times, [readingAt, exertion][stream] ?? (() => watchedValues[stream - 4] ?? 0)),
    };
  };

  return {
    asked,
    show(next) {
      scene = next;
      base += 1;
      version += 1;
      began = performance.now();
      for (const tell of [...listeners]) tell();
      return version;
    },
    fallSilent(value) {
      silent = value;
    },
    host: {
      procedures,
      clock: () => ({ machineMilliseconds: performance.now(), trialMicroseconds: now() }),
      snapshot,
      onSnapshot(listener) {
        const tell = (): void => {
          if (!silent) listener(snapshot());
        };
        listeners.add(tell);
        return () => listeners.delete(tell);
      },
      openSamples,
      windowOpened: () => undefined,
      windowClosed: () => undefined,
    },
  };
}
