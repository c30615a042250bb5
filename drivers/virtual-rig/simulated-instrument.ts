import type { DriverManifest } from '../../src/device/driver.ts';
import type { Simulator, SimulatorContext } from '../../src/device/simulator.ts';
import { ChambersideError } from '../../src/model/error-code.ts';
import type { InstrumentConfiguration } from '../../src/model/rig.ts';
import { breathingFlowLines } from '../breathing/flow-lines/manifest.ts';
import { createBreathingFlowSimulator } from '../breathing/flow-lines/simulator.ts';
import { contactControlLines } from '../contact/control-lines/manifest.ts';
import { createControlLineSimulator } from '../contact/control-lines/simulator.ts';
import { contactLines } from '../contact/lines/manifest.ts';
import { createContactLineSimulator } from '../contact/lines/simulator.ts';
import { contactModbus } from '../contact/modbus/manifest.ts';
import { createModbusContactSimulator } from '../contact/modbus/simulator.ts';
import { ergometerLines } from '../ergometer/lines/manifest.ts';
import { createErgometerSimulator } from '../ergometer/lines/simulator.ts';
import { ergometerModbusRegisters } from '../ergometer/modbus-registers/manifest.ts';
import { createErgometerRegisterSimulator } from '../ergometer/modbus-registers/simulator.ts';
import { heartRateMeasurementHex } from '../heart-rate/measurement-hex/manifest.ts';
import { createHeartRateSimulator } from '../heart-rate/measurement-hex/simulator.ts';
import { photometerModbusRegisters } from '../photometer/modbus-registers/manifest.ts';
import { createPhotometerRegisterSimulator } from '../photometer/modbus-registers/simulator.ts';
import { photometerMultimeterScpi } from '../photometer/multimeter-scpi/manifest.ts';
import { createMultimeterSimulator } from '../photometer/multimeter-scpi/simulator.ts';
import { photometerTextLines } from '../photometer/text-lines/manifest.ts';
import { createPhotometerSimulator } from '../photometer/text-lines/simulator.ts';
import { selectorValveCommandLines } from '../selector-valve/command-lines/manifest.ts';
import { createSelectorValveSimulator } from '../selector-valve/command-lines/simulator.ts';
import { selectorValveModbus } from '../selector-valve/modbus/manifest.ts';
import { createModbusValveSimulator } from '../selector-valve/modbus/simulator.ts';
import { selectorValveRelayBoard } from '../selector-valve/relay-board/manifest.ts';
import { createRelayBoardSimulator } from '../selector-valve/relay-board/simulator.ts';
import type { SimulatedContacts } from '../simulation/contact.ts';
import type { ValveBehaviour } from '../simulation/valve.ts';

/** Between two lines of contacts that print, µs: as their default settings expect. */
const contactIntervalMicroseconds = 200_000;
/** Between two lines of an ergometer, µs: as its default settings expect. */
const ergometerIntervalMicroseconds = 1_000_000;
/** Between two lines of the flow of breath, µs: as its default settings expect. */
const breathIntervalMicroseconds = 10_000;

/** What the instruments of a virtual rig see of its physics, at this moment, and do to it. */
export interface SeenByInstruments {
  /** In the unit of the photometer's stream. */
  readPhotometer(): number;
  readonly photometerIntervalMicroseconds: number;
  moveValve(port: number): void;
  readonly valveSwitchingMicroseconds: number;
  readonly valveAcknowledgeMicroseconds: number;
  readonly valveStartPort: number;
  /** `power` W, `cadence` per minute, at this moment. */
  readErgometer(): ReadonlyMap<string, number>;
  setPower(watts: number): void;
  readHeartRate(): number;
  /** Into the subject positive, L/min, at this moment. */
  readBreath(): number;
  /** ms. */
  takeRrIntervals(): number[];
  /** The belt lies on the skin. */
  contact(): boolean;
  doorIsOpen(): boolean;
  readonly beltIntervalMicroseconds: number;
}

/** A simulated valve of any dialect, as far as faults reach it. */
export interface SimulatedValveOfRig {
  setBehaviour(behaviour: ValveBehaviour, seconds: number): void;
}

/** Simulated contacts of any dialect, as far as people and faults reach them. */
export type SimulatedContactsOfRig = Pick<SimulatedContacts, 'set' | 'fail'>;

/**
 * The simulator of one instrument of a scenario.
 * @throws ChambersideError `driver-unknown` for a dialect without a virtual form, `configuration-invalid` when the
 *   settings do not fit it.
 */
export function simulatedInstrument(
  configuration: InstrumentConfiguration,
  context: SimulatorContext,
  seen: SeenByInstruments,
): {
  readonly simulator: Simulator;
  readonly valve?: SimulatedValveOfRig;
  readonly contacts?: SimulatedContactsOfRig;
} {
  const { instrument, kind, dialect, settings } = configuration;
  const parse = <Settings>(manifest: DriverManifest<Settings>): Settings => parsed(manifest, instrument, settings);
  const readConcentration = (): number => seen.readPhotometer();
  const world = {
    moveTo: (port: number) => seen.moveValve(port),
    switchingMicroseconds: seen.valveSwitchingMicroseconds,
    acknowledgeDelayMicroseconds: seen.valveAcknowledgeMicroseconds,
    startPort: seen.valveStartPort,
  };
  const asValve = <Valve extends Simulator & SimulatedValveOfRig>(valve: Valve) => ({ simulator: valve, valve });
  const asContacts = <Contacts extends Simulator & SimulatedContactsOfRig>(contacts: Contacts) => ({
    simulator: contacts,
    contacts,
  });
  const around = {
    // Nobody looks at the lamp of a virtual rig.
    setBeacon: () => undefined,
    sense: (stream: string) => stream === 'door' && seen.doorIsOpen(),
    intervalMicroseconds: contactIntervalMicroseconds,
  };
  switch (`${kind}/${dialect}`) {
    case 'photometer/text-lines':
      return {
        simulator: createPhotometerSimulator(parse(photometerTextLines), context, {
          readConcentration,
          intervalMicroseconds: seen.photometerIntervalMicroseconds,
        }),
      };
    case 'photometer/modbus-registers': {
      const registers = parse(photometerModbusRegisters);
      return { simulator: createPhotometerRegisterSimulator(registers, context, { readConcentration }) };
    }
    case 'photometer/multimeter-scpi': {
      const multimeter = parse(photometerMultimeterScpi);
      return { simulator: createMultimeterSimulator(multimeter, context, { readConcentration }) };
    }
    case 'selector-valve/command-lines':
      return asValve(createSelectorValveSimulator(parse(selectorValveCommandLines), context, world));
    case 'selector-valve/modbus':
      return asValve(createModbusValveSimulator(parse(selectorValveModbus), context, world));
    case 'selector-valve/relay-board':
      return asValve(createRelayBoardSimulator(parse(selectorValveRelayBoard), context, world));
    case 'heart-rate/measurement-hex':
      return {
        simulator: createHeartRateSimulator(parse(heartRateMeasurementHex), context, {
          heartRate: () => seen.readHeartRate(),
          takeRrIntervals: () => seen.takeRrIntervals(),
          contact: () => seen.contact(),
          intervalMicroseconds: seen.beltIntervalMicroseconds,
        }),
      };
    case 'breathing/flow-lines':
      return {
        simulator: createBreathingFlowSimulator(parse(breathingFlowLines), context, {
          readFlow: () => seen.readBreath(),
          intervalMicroseconds: breathIntervalMicroseconds,
        }),
      };
    case 'ergometer/lines':
      return {
        simulator: createErgometerSimulator(parse(ergometerLines), context, {
          readErgometer: () => seen.readErgometer(),
          setPower: (watts) => seen.setPower(watts),
          intervalMicroseconds: ergometerIntervalMicroseconds,
        }),
      };
    case 'ergometer/modbus-registers':
      return {
        simulator: createErgometerRegisterSimulator(parse(ergometerModbusRegisters), context, {
          readErgometer: () => seen.readErgometer(),
          setPower: (watts) => seen.setPower(watts),
        }),
      };
    case 'contact/lines':
      return asContacts(createContactLineSimulator(parse(contactLines), context, around));
    case 'contact/modbus':
      return asContacts(createModbusContactSimulator(parse(contactModbus), context, around));
    case 'contact/control-lines':
      return asContacts(createControlLineSimulator(parse(contactControlLines), context, around));
    default:
      throw new ChambersideError(
        'driver-unknown',
        `The virtual rig has no instrument of kind ${kind} and dialect ${dialect}`,
        `instrument ${instrument}`,
        'Use a photometer (text-lines, modbus-registers, multimeter-scpi), a selector-valve (command-lines, modbus, ' +
          'relay-board), heart-rate/measurement-hex, breathing/flow-lines, an ergometer (lines, ' +
          'modbus-registers) or a contact (lines, modbus, control-lines).',
      );
  }
}

function parsed<Settings>(manifest: DriverManifest<Settings>, instrument: string, settings: unknown): Settings {
  const result = manifest.settings.safeParse(settings);
  if (result.success) return result.data;
  const lines = result.error.issues.map(
    (issue) => `${issue.path.map(String).join('.') || 'settings'}: ${issue.message}`,
  );
  throw new ChambersideError(
    'configuration-invalid',
    `The settings do not fit ${manifest.kind}/${manifest.dialect}: ${lines.join('; ')}`,
    `instrument ${instrument}`,
    'Correct the settings of this instrument in the scenario.',
  );
}
