import type { DriverManifest } from '../src/device/driver.ts';
import { ChambersideError } from '../src/model/error-code.ts';
import type { Rig } from '../src/model/rig.ts';
import type { StreamDescriptor } from '../src/model/stream.ts';
import { unitNames, units } from '../src/model/unit.ts';
import { breathingBreathLines } from './breathing/breath-lines/manifest.ts';
import { breathingFlowLines } from './breathing/flow-lines/manifest.ts';
import { climateLines } from './climate/lines/manifest.ts';
import { climateModbusRegisters } from './climate/modbus-registers/manifest.ts';
import { contactControlLines } from './contact/control-lines/manifest.ts';
import { contactLines } from './contact/lines/manifest.ts';
import { contactModbus } from './contact/modbus/manifest.ts';
import { ergometerLines } from './ergometer/lines/manifest.ts';
import { ergometerModbusRegisters } from './ergometer/modbus-registers/manifest.ts';
import { heartRateBeatLines } from './heart-rate/beat-lines/manifest.ts';
import { heartRateMeasurementHex } from './heart-rate/measurement-hex/manifest.ts';
import { photometerModbusRegisters } from './photometer/modbus-registers/manifest.ts';
import { photometerMultimeterScpi } from './photometer/multimeter-scpi/manifest.ts';
import { photometerTextLines } from './photometer/text-lines/manifest.ts';
import { pressureFlowLines } from './pressure-flow/lines/manifest.ts';
import { pressureFlowModbusRegisters } from './pressure-flow/modbus-registers/manifest.ts';
import { selectorValveCommandLines } from './selector-valve/command-lines/manifest.ts';
import { selectorValveModbus } from './selector-valve/modbus/manifest.ts';
import { selectorValveRelayBoard } from './selector-valve/relay-board/manifest.ts';
import { treadmillLines } from './treadmill/lines/manifest.ts';

/** Every dialect the program speaks. The one explicit list: nothing is found by looking around. */
export const drivers: readonly DriverManifest[] = [
  photometerTextLines,
  photometerModbusRegisters,
  photometerMultimeterScpi,
  selectorValveCommandLines,
  selectorValveModbus,
  selectorValveRelayBoard,
  heartRateMeasurementHex,
  heartRateBeatLines,
  breathingFlowLines,
  breathingBreathLines,
  climateLines,
  climateModbusRegisters,
  pressureFlowLines,
  pressureFlowModbusRegisters,
  ergometerLines,
  ergometerModbusRegisters,
  treadmillLines,
  contactLines,
  contactModbus,
  contactControlLines,
];

/**
 * The manifest of a kind and dialect.
 * @throws ChambersideError `driver-unknown`, naming what there is.
 */
export function findDriver(kind: string, dialect: string): DriverManifest {
  const found = drivers.find((manifest) => manifest.kind === kind && manifest.dialect === dialect);
  if (found !== undefined) return found;
  const ofKind = drivers.filter((manifest) => manifest.kind === kind);
  const known = (ofKind.length > 0 ? ofKind : drivers).map((manifest) => `${manifest.kind} ${manifest.dialect}`);
  throw new ChambersideError(
    'driver-unknown',
    `no driver speaks the dialect "${dialect}" of the kind "${kind}"`,
    `${kind} ${dialect}`,
    `Use one of: ${known.join(', ')}.`,
  );
}

/**
 * Settings of an instrument as its dialect understands them, defaults filled in.
 * @throws ChambersideError `configuration-invalid`, naming the instrument and every field that is wrong.
 */
export function parseSettings<Settings>(
  manifest: DriverManifest<Settings>,
  instrument: string,
  settings: unknown,
): Settings {
  const parsed = manifest.settings.safeParse(settings);
  if (parsed.success) return parsed.data;
  const wrong = parsed.error.issues.map((issue) => {
    const unknownKeys = issue.code === 'unrecognized_keys' ? [issue.keys.join(', ')] : [];
    const field = ['settings', ...issue.path.map(String), ...unknownKeys].join('.');
    return { field, text: `${field}: ${unknownKeys.length > 0 ? 'there is no such setting' : issue.message}` };
  });
  const fields = [...new Set(wrong.map((issue) => issue.field))];
  throw new ChambersideError(
    'configuration-invalid',
    `the settings of instrument ${instrument} are not valid: ${wrong.map((issue) => issue.text).join('; ')}`,
    `instrument ${instrument}, ${fields.join(', ')}`,
    `Correct them in the rig; they belong to the dialect ${manifest.kind} ${manifest.dialect}.`,
  );
}

/** What a photometer may deliver: leakage is one concentration divided by another. */
const concentrations: readonly string[] = ['mass concentration', 'number concentration'];

/**
 * The stream of a rig's photometer that carries concentration; saturation and nominal challenge of the rig are in its
 * unit.
 * @param where what gave the rig, for the message.
 * @throws ChambersideError `driver-unknown`, `configuration-invalid`: no such stream, or no concentration.
 */
export function concentrationStream(rig: Rig, where: string): StreamDescriptor {
  const index = rig.instruments.findIndex(({ instrument }) => instrument === rig.photometer);
  const configuration = rig.instruments[index];
  if (configuration === undefined) throw new RangeError(`the rig has no instrument ${rig.photometer}`);
  const { instrument, kind, dialect, settings } = configuration;
  const manifest = findDriver(kind, dialect);
  const streams = manifest.streams(instrument, parseSettings(manifest, instrument, settings));
  const found = streams.find(({ stream }) => stream === rig.photometerStream);
  if (found === undefined) {
    throw new ChambersideError(
      'configuration-invalid',
      `instrument ${instrument} has no stream ${rig.photometerStream}`,
      `${where}, rig.photometerStream`,
      `Name one of its streams: ${streams.map(({ stream }) => stream).join(', ')}.`,
    );
  }
  const { quantity } = units[found.unit];
  if (concentrations.includes(quantity)) return found;
  const others = streams.filter(({ unit }) => concentrations.includes(units[unit].quantity));
  const fitting = unitNames.filter((unit) => concentrations.includes(units[unit].quantity));
  const output =
    quantity === 'voltage' ? ' An analogue output is scaled to one of them by the dialect multimeter-scpi.' : '';
  throw new ChambersideError(
    'configuration-invalid',
    `${instrument} delivers ${found.stream} in ${found.unit}, a unit of ${quantity}, which tells no concentration`,
    others.length > 0 ? `${where}, rig.photometerStream` : `${where}, rig.instruments.${index}.settings.unit`,
    others.length > 0
      ? `Name the stream ${others.map(({ stream }) => stream).join(' or ')}.`
      : `Give one of: ${fitting.join(', ')}.${output}`,
  );
}

/** The pure line framer, for hosts that run drivers under virtual time. */
export { createLineFramer } from './framing/line.ts';
