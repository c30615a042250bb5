import { findDriver } from '../../../drivers/registry.ts';
import type { CheckBeginning } from '../../bridge/checks.ts';
import type { ConnectionSettings, Failure, RigState } from '../../bridge/snapshot.ts';
import { checkDefinitions } from '../../calibration/check/definitions.ts';
import type { KeptCheck } from '../../calibration/check/standing.ts';
import type { Answers, CheckRecord } from '../../calibration/check/step.ts';
import type { LineFramerFactory } from '../../device/framing.ts';
import type { Clock } from '../../device/timers.ts';
import { doubtfulCertificates } from '../../model/certificate.ts';
import type { SupportingCertificate } from '../../model/certificate.ts';
import type { ChambersideError } from '../../model/error-code.ts';
import type { Reading } from '../../model/reading.ts';
import type { InstrumentConfiguration, Rig } from '../../model/rig.ts';
import { failureOf } from '../failure.ts';
import type { GuardLink } from '../guard/guard-link.ts';
import { openTransport } from '../transport/open.ts';
import { runCheck } from './check-run.ts';
import type { RunningCheck } from './check-run.ts';
import { onLine, overloadRemark } from './line-load.ts';
import { openRig } from './open-rig.ts';
import type { GuardDesk } from './guard-desk.ts';
import type { InstrumentSource, OpenRig } from './open-rig.ts';
import type { PortUser } from './port-users.ts';
import { refusal } from './refusal.ts';
import { laboratorySource, startVirtualSource } from './sources.ts';
import type { OpenConnection, VirtualSource, VirtualSourceOptions } from './sources.ts';
import { handOf } from './virtual-hands.ts';
import { createWireDesk } from './wire-desk.ts';
import type { WireDesk } from './wire-desk.ts';

export interface RigDeskOptions {
  readonly clock: Clock;
  readonly wallNow: () => Date;
  readonly lines: LineFramerFactory;
  readonly guards: GuardDesk;
  /** Where an instrument of a rig is connected today, as the laboratory knows it. */
  readonly settingsOf: (rig: string, instrument: string) => ConnectionSettings | null;
  /** Gives the port of a connection its present name. Errors as `PortDesk.today`; absent: as it is said. */
  readonly today?: (
    configuration: InstrumentConfiguration,
    settings: ConnectionSettings,
  ) => Promise<ConnectionSettings>;
  readonly onOpened: (rig: OpenRig) => void;
  readonly onClosed: () => void;
  /** The virtual rig's process has ended by itself, with every instrument. */
  readonly onEnded: (detail: string) => void;
  readonly onReading: (streamIndex: number, reading: Reading) => void;
  /** A check has come to its end: this is what it recorded. */
  readonly onCheck: (rig: Rig, made: MadeCheck) => Promise<void>;
  readonly onChange: () => void;
  /** How long a check reads, s. */
  readonly checkSeconds: number;
  /** Where captures of wires are put. */
  readonly folder: string;
  /** Version of the program, as captures say it. */
  readonly program: string;
}

export interface MadeCheck {
  readonly beginning: CheckBeginning;
  readonly record: CheckRecord;
  readonly person: string;
}

/** The one rig that the host has open, or none. */
export interface RigDesk {
  readonly opened: OpenRig | null;
  /** A check is under way. */
  readonly checking: boolean;
  /** The process behind it; null for a rig of instruments. */
  readonly virtual: VirtualSource | null;
  /** @param certificates of what works in the open rig. */
  state(results: readonly KeptCheck[], certificates?: readonly SupportingCertificate[]): RigState;
  /**
   * Resolves when its instruments are connected, or after a while without them.
   * @throws ChambersideError `action-refused`, `rig-process-failed`.
   */
  startVirtual(options: VirtualSourceOptions): Promise<void>;
  /**
   * Begins to open the instruments; they come when they come.
   * @throws ChambersideError `action-refused`, `driver-unknown`, `configuration-invalid`.
   */
  openLaboratory(rig: Rig): void;
  close(): Promise<void>;
  /** @throws `action-refused` while no rig is open. */
  require(): OpenRig;
  /** Where the instruments of the open rig are or were, connected or not; empty while no rig is open. */
  portsInUse(): readonly PortUser[];
  /** What goes over the wires of the open rig. @throws `action-refused` while no rig is open. */
  wires(): WireDesk;
  /** @param onMove it will be moved: nothing speaks against it. */
  selectPort(port: number, onMove: () => void): Promise<void>;
  /**
   * Sets what can be set of an instrument: a load.
   * @throws ChambersideError `action-refused`, and what `Actuator.set` throws.
   */
  setOutput(instrument: string, output: string, value: number): Promise<void>;
  /** @throws `action-refused`. */
  beginCheck(beginning: CheckBeginning, person: string): void;
  /** @throws `action-refused`, `usage-bad-value`. */
  answerCheck(answers: Answers): void;
  cancelCheck(): void;
}

const connectMilliseconds = 5_000;

/** What is to be said of the line that an instrument is on. */
function lineRemarks(source: InstrumentSource, { instrument }: InstrumentConfiguration): string[] {
  const settings = source.settings(instrument);
  const remark =
    settings === null ? null : overloadRemark(settings, onLine(source.rig, instrument, settings, source.settings));
  return remark === null ? [] : [remark];
}

export function createRigDesk(options: RigDeskOptions): RigDesk {
  const { clock } = options;
  let state: RigState['state'] = 'closed';
  let failure: Failure | null = null;
  let rig: Rig | null = null;
  let opened: OpenRig | null = null;
  let wires: WireDesk | null = null;
  let virtual: VirtualSource | null = null;
  let guard: GuardLink | null = null;
  let starting: { readonly scenario: string; readonly seed: number } | null = null;
  let check: RunningCheck | null = null;
  let checkFailure: Failure | null = null;

  const change = (next: RigState['state'], why: Failure | null = null): void => {
    state = next;
    failure = why;
    options.onChange();
  };
  const mustBeClosed = (): void => {
    if (state === 'closed' || (state === 'failed' && opened === null)) return;
    throw refusal(`the rig is ${state}`, rig?.name ?? 'rig', 'Close it first.');
  };
  /** Opened through the guard the last time, those included that share a line with what it guards. */
  const behindGuard = new Set<string>();
  /** Serial ports that were opened, by instrument; several on one line share one. */
  const lastPorts = new Map<string, string>();
  const openConnection: OpenConnection = (connection, instruments, now) => {
    for (const instrument of instruments) {
      if (connection.transport === 'serial') lastPorts.set(instrument, connection.path);
      else lastPorts.delete(instrument);
    }
    const link = guard !== null && instruments.some(guard.guards) ? guard : null;
    for (const instrument of instruments) {
      if (link === null) behindGuard.delete(instrument);
      else behindGuard.add(instrument);
    }
    return link === null ? openTransport(connection, now) : link.open(connection, instruments);
  };
  const endGuard = async (): Promise<void> => {
    const ending = guard;
    guard = null;
    await ending?.end();
  };
  const open = (source: InstrumentSource): OpenRig => {
    rig = source.rig;
    guard = options.guards.begin(source.rig);
    const { folder, program } = options;
    const desk = createWireDesk({
      ...{ rig: source.rig, virtual: source.rig.virtual, clock, wallNow: options.wallNow, folder, program },
      connectionOf: (name) => opened?.instruments.find(({ instrument }) => instrument === name)?.connection ?? null,
      isGuarded: (name) => guard?.guards(name) === true || behindGuard.has(name),
      onChange: options.onChange,
    });
    const now = openRig({
      source,
      wires: desk,
      clock,
      lines: options.lines,
      remarks: (configuration) => [...options.guards.remarks(configuration), ...lineRemarks(source, configuration)],
      onReading(streamIndex, reading) {
        options.onReading(streamIndex, reading);
        check?.observeReading(reading);
      },
      onProblem: options.onChange,
      onChange: options.onChange,
    });
    opened = now;
    wires = desk;
    options.onOpened(now);
    change('open');
    return now;
  };
  const noRig = (): ChambersideError => refusal('no rig is open', 'rig', 'Open a rig, or start the virtual one.');
  const require = (): OpenRig => {
    if (opened === null) throw noRig();
    return opened;
  };

  return {
    get opened() {
      return opened;
    },
    get checking() {
      return check !== null;
    },
    get virtual() {
      return virtual;
    },
    require,
    portsInUse: () =>
      (opened?.instruments ?? []).map(({ connection, dialect, instrument, kind, settings }) => ({
        ...{ instrument, connected: connection !== null, lastPath: lastPorts.get(instrument) ?? null, settings },
        sharesLine: findDriver(kind, dialect).sharesLine === true,
      })),
    wires() {
      if (wires === null) throw noRig();
      return wires;
    },
    state: (results, certificates = []) => ({
      state,
      failure,
      rig,
      streams: opened === null ? [] : [...opened.streams],
      instruments: opened === null ? [] : [...opened.instruments],
      valve: opened?.valve ?? { requestedPort: null, confirmedPort: null, state: 'unknown', answerMilliseconds: null },
      checks: { running: check?.state ?? null, failure: checkFailure, results: [...results] },
      doubtfulCertificates: doubtfulCertificates(certificates),
      virtualRig:
        virtual !== null
          ? { scenario: virtual.scenario, seed: virtual.seed, processId: virtual.process.processId }
          : starting === null
            ? null
            : { ...starting, processId: null },
    }),
    async startVirtual(source) {
      mustBeClosed();
      starting = { scenario: source.scenario, seed: source.seed };
      rig = null;
      change('opening');
      let started: VirtualSource | null = null;
      try {
        started = await startVirtualSource(source, openConnection);
        virtual = started;
        const now = open(started);
        started.process.onCable((cable) => {
          if (cable.state === 'back') now.retry(cable.instrument);
        });
        started.process.onLost((error) => {
          if (virtual !== started) return;
          change('failed', failureOf(error));
          options.onEnded(error.message);
        });
        let late: NodeJS.Timeout | undefined;
        const limit = new Promise<void>((resolve) => {
          late = setTimeout(resolve, connectMilliseconds);
        });
        await Promise.race([now.connected(), limit]);
        clearTimeout(late);
      } catch (error) {
        if (opened === null) {
          await started?.close().catch(() => undefined);
          await endGuard();
          virtual = null;
          rig = null;
        }
        change('failed', failureOf(error));
        throw error;
      } finally {
        starting = null;
      }
    },
    openLaboratory(laboratoryRig) {
      mustBeClosed();
      try {
        const settingsOf = (instrument: string): ConnectionSettings | null =>
          options.settingsOf(laboratoryRig.name, instrument);
        const isGuarded = (instrument: string): boolean => guard?.guards(instrument) === true;
        open(laboratorySource(laboratoryRig, settingsOf, clock, openConnection, isGuarded, options.today));
      } catch (error) {
        rig = null;
        // It starts with its first line, and none was opened.
        guard = null;
        change('failed', failureOf(error));
        throw error;
      }
    },
    async close() {
      check?.cancel();
      const closing = opened;
      if (closing === null) {
        if (state === 'failed') change('closed');
        return;
      }
      change('closing');
      try {
        await closing.close();
      } finally {
        // Whatever was refused: no guard stays behind without its rig.
        await endGuard();
        behindGuard.clear();
        lastPorts.clear();
        opened = null;
        wires = null;
        virtual = null;
        rig = null;
        checkFailure = null;
        options.onClosed();
        change('closed');
      }
    },
    async selectPort(port, onMove) {
      const now = require();
      if (!now.rig.ports.some((candidate) => candidate.port === port)) {
        throw refusal(`the rig has no port ${port}`, now.rig.name, 'Choose one of its ports.');
      }
      if (check !== null) throw refusal('a check is under way', now.rig.name, 'Cancel it, or wait for its end.');
      const selector = now.selector();
      if (selector === undefined) throw refusal('the valve is not connected', now.rig.name, 'Connect it first.');
      onMove();
      await selector.select(port);
    },
    async setOutput(instrument, output, value) {
      const now = require();
      const actuator = now.actuator(instrument);
      if (actuator === undefined) {
        throw refusal('nothing of it can be set, or it is not connected', instrument, 'Connect it first.');
      }
      await actuator.set(output, value);
    },
    beginCheck(beginning, person) {
      if (check !== null) throw refusal('a check is under way', beginning.check, 'End it, or wait for its end.');
      const now = require();
      /** Ports at which virtual hands have changed something. */
      const handled = new Set<string>();
      const running = runCheck({
        rig: now,
        definition: checkDefinitions[beginning.check],
        subject: beginning.subject,
        condition: beginning.condition,
        pace: { readSeconds: options.checkSeconds },
        clock,
        wallNow: options.wallNow,
        onAnswer(step, answers) {
          const hand = virtual === null ? null : handOf(step, answers);
          if (hand === null) return;
          virtual?.process.handle(hand);
          handled.add(hand.probe);
        },
        onChange: options.onChange,
      });
      check = running;
      checkFailure = null;
      options.onChange();
      running.finished
        .then((record) => (record === null ? undefined : options.onCheck(now.rig, { beginning, record, person })))
        .catch((error: unknown) => {
          checkFailure = failureOf(error);
        })
        .finally(() => {
          if (check === running) check = null;
          // A check that was ended in the middle leaves nothing hanging in the virtual chamber.
          for (const probe of handled) virtual?.process.handle({ hand: 'inlet', probe, air: 'own' });
          options.onChange();
        })
        .catch(() => undefined);
    },
    answerCheck(answers) {
      if (check === null) throw refusal('no check is under way', 'check', 'Begin one.');
      check.answer(answers);
    },
    cancelCheck() {
      check?.cancel();
    },
  };
}
