import { concentrationStream, findDriver, parseSettings } from '../registry.ts';
import type { Simulator, SimulatorContext } from '../../src/device/simulator.ts';
import type { Cancel } from '../../src/device/timers.ts';
import { ChambersideError } from '../../src/model/error-code.ts';
import type { ContactStream } from '../../src/model/contact.ts';
import type { InstrumentConfiguration } from '../../src/model/rig.ts';
import type { StreamDescriptor } from '../../src/model/stream.ts';
import { toMicroseconds } from '../../src/model/time.ts';
import type { RigFault, RigHand, SubjectCue, VirtualRig, VirtualRigOptions, VirtualWire } from './contract.ts';
import { RigPhysics, stepMicroseconds, stepsPerBin } from './physics.ts';
import { RandomStream } from './random.ts';
import type { Scenario } from './scenario.ts';
import { simulatedInstrument } from './simulated-instrument.ts';
import type { SimulatedContactsOfRig, SimulatedValveOfRig } from './simulated-instrument.ts';
import { TruthWriter } from './truth.ts';

export type { TruthSink, VirtualRig, VirtualRigOptions, VirtualWire } from './contract.ts';
export { parseScenario, type Scenario } from './scenario.ts';
export { scenarioNamed, scenarioNames, scenarios } from './scenarios/index.ts';

/** How often the physics is brought up to date when nobody asks, so that the truth reaches its file. */
const tickMicroseconds = 1_000_000;
const binsPerBlock = 20;

interface Cable {
  readonly simulator: Simulator;
  /** Pulled out by a fault: nothing passes, whoever holds the program's end. */
  pulled: boolean;
  send: ((bytes: Uint8Array) => void) | null;
}

/**
 * Starts a rig: the instruments are powered, the chamber is filled, the subject stands outside.
 * @throws ChambersideError `driver-unknown` when the scenario's rig names an instrument that has no virtual form,
 *   `configuration-invalid` when an instrument's settings do not fit its dialect.
 */
export function createVirtualRig(options: VirtualRigOptions): VirtualRig {
  const { scenario, seed, clock, onCable } = options;
  const origin = clock.now();
  const now = (): number => clock.now() - origin;
  const { unit } = concentrationStream(scenario.rig, `scenario ${scenario.name}`);
  const probes = scenario.ensemble.zones.map((zone) => zone.probe);
  const breathing = scenario.rig.ports.filter((port) => port.breathingZone === true).map((port) => port.probe);
  let writer: TruthWriter | null = null;
  const physics = new RigPhysics({
    scenario,
    seed,
    truth:
      options.truth === null
        ? null
        : (atMicroseconds, challenge, reference, cells, inspired) =>
            writer?.add(origin + atMicroseconds, challenge, reference, cells, inspired),
    startedInside: options.startedInside ?? null,
  });
  if (options.truth !== null) {
    const header = {
      binMicroseconds: stepMicroseconds * stepsPerBin,
      unit,
      probes,
      backgrounds: [...physics.trueValues.backgrounds],
      ...(breathing.length === 0 ? {} : { breathing }),
    };
    writer = new TruthWriter(options.truth, header, binsPerBlock);
  }

  const cancels = new Set<Cancel>();
  const cables = new Map<string, Cable>();
  let valve: SimulatedValveOfRig | null = null;
  /** Instruments with contacts, and which contacts each has. */
  const wired: { readonly contacts: SimulatedContactsOfRig; readonly streams: readonly string[] }[] = [];
  let stopped = false;

  /** Something that is undone after a while; a second one of the same kind takes the place of the first. */
  const restores = new Map<string, Cancel>();
  const forSeconds = (what: string, seconds: number, undo: () => void): void => {
    restores.get(what)?.();
    const cancel = clock.after(toMicroseconds(seconds), () => {
      restores.delete(what);
      undo();
    });
    restores.set(what, cancel);
  };

  let cancelArrival: Cancel | undefined;
  const moveValve = (instrument: string, port: number): void => {
    physics.moveValve(now(), port);
    const { onAct } = options;
    if (onAct === undefined) return;
    cancelArrival?.();
    // It is there when the move is over, unless it was sent elsewhere meanwhile.
    cancelArrival = clock.after(toMicroseconds(scenario.rig.valveSwitchingSeconds), () => {
      onAct({ act: 'valve', instrument, port, atMicroseconds: clock.now() });
    });
  };

  let contact = true;
  for (const { instrument, kind, dialect, settings } of scenario.rig.instruments) {
    const random = new RandomStream(seed, `instrument ${instrument}`);
    const context: SimulatorContext = {
      timers: clock,
      random: () => random.uniform(),
      send: (bytes) => {
        const cable = cables.get(instrument);
        if (cable !== undefined && !cable.pulled) cable.send?.(bytes);
      },
    };
    const configuration = { instrument, kind, dialect, settings };
    const { simulator, valve: moved, contacts: pressed } = simulatedInstrument(configuration, context, {
      readPhotometer: () => physics.readPhotometer(now()),
      photometerIntervalMicroseconds: scenario.photometer.intervalMilliseconds * 1000,
      moveValve: (port) => moveValve(instrument, port),
      readErgometer: () => physics.readErgometer(),
      setPower(watts) {
        physics.setLoad(now(), watts);
        options.onAct?.({ act: 'load', instrument, watts, atMicroseconds: clock.now() });
      },
      valveSwitchingMicroseconds: toMicroseconds(scenario.rig.valveSwitchingSeconds),
      valveAcknowledgeMicroseconds: toMicroseconds(scenario.valve.acknowledgeDelaySeconds),
      valveStartPort: scenario.valve.startPort,
      readHeartRate: () => physics.readHeartRate(now()),
      takeRrIntervals: () => physics.takeRrIntervals(now()).map((seconds) => seconds * 1000),
      readBreath: () => physics.readBreath(now()),
      contact: () => contact,
      doorIsOpen: () => physics.doorIsOpen(now()),
      beltIntervalMicroseconds: scenario.belt.intervalMilliseconds * 1000,
    });
    valve = moved ?? valve;
    if (pressed !== undefined) {
      const streams = streamsOf(configuration).map(({ stream }) => stream);
      wired.push({ contacts: pressed, streams });
    }
    cables.set(instrument, { simulator, pulled: false, send: null });
  }

  const cableOf = (instrument: string): Cable => {
    const cable = cables.get(instrument);
    if (cable !== undefined) return cable;
    throw new ChambersideError(
      'usage-bad-value',
      `The virtual rig has no instrument ${instrument}`,
      'virtual rig',
      `Name one of ${[...cables.keys()].join(', ')}.`,
    );
  };

  const contactsWith = (stream: ContactStream): typeof wired => {
    const found = wired.filter(({ streams }) => streams.includes(stream));
    if (found.length > 0) return found;
    const known = wired.flatMap(({ streams }) => streams);
    throw new ChambersideError(
      'usage-bad-value',
      `The virtual rig has no contact ${stream}`,
      `scenario ${scenario.name}`,
      known.length === 0
        ? 'Add an instrument of the kind contact to the rig of the scenario.'
        : `Name one of ${known.join(', ')}.`,
    );
  };

  const inject = (fault: RigFault): void => {
    if (stopped) return;
    switch (fault.fault) {
      case 'wire':
        cableOf(fault.instrument).simulator.inject(fault.wire);
        return;
      case 'unplug': {
        const { instrument, newName } = fault;
        const cable = cableOf(instrument);
        cable.pulled = true;
        onCable?.({ instrument, state: 'pulled', newName });
        forSeconds(`unplug ${instrument}`, fault.seconds, () => {
          cable.pulled = false;
          onCable?.({ instrument, state: 'back', newName });
        });
        return;
      }
      case 'generator-stops':
        physics.setGenerator(now(), false);
        forSeconds('generator', fault.seconds, () => physics.setGenerator(now(), true));
        return;
      case 'line-blocked': {
        const { probe } = fault;
        requirePort(scenario, probe);
        physics.setBlocked(now(), probe, true);
        forSeconds(`line ${probe}`, fault.seconds, () => physics.setBlocked(now(), probe, false));
        return;
      }
      case 'line-leaks': {
        const { percent, probe } = fault;
        requirePort(scenario, probe);
        physics.setLeaking(now(), probe, percent / 100);
        forSeconds(`leak ${probe}`, fault.seconds, () => physics.setLeaking(now(), probe, 0));
        return;
      }
      case 'contact-lost':
        contact = false;
        forSeconds('contact', fault.seconds, () => {
          contact = true;
        });
        return;
      case 'subject-stop': {
        const stop = wired.some(({ streams }) => streams.includes('stop')) ? 'stop' : 'foot-stop';
        const pressed = contactsWith(stop);
        for (const { contacts } of pressed) contacts.set(stop, true);
        forSeconds('subject-stop', fault.seconds, () => {
          for (const { contacts } of pressed) contacts.set(stop, false);
        });
        return;
      }
      case 'contact':
        for (const { contacts } of contactsWith(fault.contact)) {
          contacts.fail(fault.contact, fault.failure, fault.seconds);
        }
        return;
      case 'valve':
        valve?.setBehaviour(fault.behaviour, fault.seconds);
        return;
      case 'door-opens':
        physics.openDoor(now());
        return;
      case 'zero-jump':
        physics.jumpZero(now(), fault.percentOfChallenge);
        return;
      case 'span-jump':
        physics.jumpSpan(now(), fault.percent);
        return;
    }
  };

  const schedule = (atMicroseconds: number, callback: () => void): void => {
    const cancel = clock.at(atMicroseconds, () => {
      cancels.delete(cancel);
      callback();
    });
    cancels.add(cancel);
  };
  let nextTick = origin;
  const tick = (): void => {
    physics.advanceTo(now());
    nextTick += tickMicroseconds;
    schedule(nextTick, tick);
  };
  tick();
  for (const { atSeconds, fault } of scenario.faults) {
    schedule(origin + toMicroseconds(atSeconds), () => inject(fault));
  }
  for (const { simulator } of cables.values()) simulator.start();

  return {
    rig: scenario.rig,
    series: scenario.series,
    connect(instrument, send): VirtualWire {
      const cable = cableOf(instrument);
      cable.send = send;
      if (!stopped) cable.simulator.connected?.();
      return {
        receive(bytes) {
          if (!stopped && !cable.pulled && cable.send === send) cable.simulator.receive(bytes);
        },
        disconnect() {
          if (cable.send === send) cable.send = null;
        },
        controlLines: cable.simulator.controlLines,
      };
    },
    cue(cue: SubjectCue) {
      if (stopped) return;
      if (cue.cue === 'begin' && cue.exercise === null) {
        throw new ChambersideError(
          'usage-bad-value',
          'The cue to begin names no exercise',
          `scenario ${scenario.name}`,
          'Name the exercise that begins.',
        );
      }
      physics.cue(now(), cue);
    },
    inject,
    handle(hand: RigHand) {
      if (stopped) return;
      requirePort(scenario, hand.probe);
      physics.setInlet(now(), hand);
    },
    stop() {
      if (stopped) return;
      stopped = true;
      physics.advanceTo(now());
      for (const { simulator } of cables.values()) simulator.stop();
      cancelArrival?.();
      for (const cancel of cancels) cancel();
      for (const cancel of restores.values()) cancel();
      cancels.clear();
      restores.clear();
      writer?.flush();
    },
  };
}

function streamsOf({ instrument, kind, dialect, settings }: InstrumentConfiguration): StreamDescriptor[] {
  const manifest = findDriver(kind, dialect);
  return manifest.streams(instrument, parseSettings(manifest, instrument, settings));
}

function requirePort(scenario: Scenario, probe: string): void {
  if (scenario.rig.ports.some((port) => port.probe === probe)) return;
  throw new ChambersideError(
    'usage-bad-value',
    `The virtual rig has no line from ${probe}`,
    `scenario ${scenario.name}`,
    `Name one of ${scenario.rig.ports.map((port) => port.probe).join(', ')}.`,
  );
}
