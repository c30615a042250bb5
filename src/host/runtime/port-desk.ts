import { findDriver, parseSettings } from '../../../drivers/registry.ts';
import type { AskedPort, LineAsk, LineView, OfferedPorts } from '../../bridge/ports.ts';
import type { ConnectionSettings } from '../../bridge/snapshot.ts';
import type { Identification } from '../../device/identification.ts';
import { fittingPorts, identityWords } from '../../device/port-identity.ts';
import type { MachinePort, PortIdentity } from '../../device/port-identity.ts';
import type { Clock } from '../../device/timers.ts';
import type { Connection, Transport } from '../../device/transport.ts';
import { loadWords, overload } from '../../device/wire-load.ts';
import { bytesToText } from '../../model/bytes.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { InstrumentConfiguration } from '../../model/rig.ts';
import { askPort } from '../transport/ask-port.ts';
import type { PortAnswer } from '../transport/ask-port.ts';
import type { PortListing } from '../transport/list-ports.ts';
import type { PortHolder } from '../transport/port-holders.ts';
import { loadOf } from './line-load.ts';
import { belongingTo, connectedAt, userWords } from './port-users.ts';
import type { PortUser } from './port-users.ts';

export interface PortDeskOptions {
  readonly clock: Clock;
  readonly list: () => Promise<PortListing>;
  readonly holders: (paths: readonly string[]) => Promise<ReadonlyMap<string, PortHolder>>;
  readonly open: (connection: Connection, now: () => number) => Promise<Transport>;
  /** Instruments of this program's open rig, those that are lost or were never reached included. */
  readonly inUse: () => readonly PortUser[];
}

/** Finds ports: what the machine says of them, and what an instrument says when it is asked. */
export interface PortDesk {
  /** @param inTrial as for `ask`. */
  offered(inTrial: boolean): Promise<OfferedPorts>;
  /** Errors as `findDriver` and `parseSettings`. */
  line(ask: LineAsk): LineView;
  /**
   * Asks at these ports, all at once, and at none that is in use: where an instrument of the rig is, or was before it
   * was lost.
   * @param inTrial a trial is under way. Then nothing at all is asked when a port may be that of an instrument.
   * @throws ChambersideError `action-refused` for a dialect that nothing tells, and for such a port; and as `line`.
   */
  ask(ask: LineAsk, ports: readonly string[], inTrial: boolean): Promise<AskedPort[]>;
  /**
   * The connection with today's name of the port. What was typed is given back as it is.
   * @throws ChambersideError `port-not-found`, `port-ambiguous`: what was looked for, and what there is.
   */
  today(configuration: InstrumentConfiguration, settings: ConnectionSettings): Promise<ConnectionSettings>;
}

export function createPortDesk(options: PortDeskOptions): PortDesk {
  const { clock } = options;
  /** One that is under way serves all that ask meanwhile; an older one may name a port that another has by now. */
  let underWay: Promise<PortListing> | null = null;
  const listNow = (): Promise<PortListing> => {
    underWay ??= options.list().finally(() => {
      underWay = null;
    });
    return underWay;
  };

  const listedNow = async (): Promise<readonly MachinePort[]> => (await listNow()).ports;

  const askOne = (path: string, baudRate: number, identification: Identification): Promise<PortAnswer> =>
    askPort({ transport: 'serial', path, baudRate }, identification, clock, options.open);

  const today = async (
    configuration: InstrumentConfiguration,
    settings: ConnectionSettings,
  ): Promise<ConnectionSettings> => {
    if (settings.kind !== 'serial' || settings.identity === undefined) return settings;
    const { baudRate, identity } = settings;
    const { ports } = await listNow();
    const sought = { instrument: configuration.instrument, identity, ports };
    const fitting = fittingPorts(identity, ports)?.map(({ path }) => path) ?? [settings.path];
    const [only, ...more] = fitting;
    if (only === undefined) throw notFound(sought, 'is connected to no port of this machine');
    const byAdapter = fittingPorts(identity, ports) !== null;
    if (byAdapter && more.length === 0) return { ...settings, path: only };
    const identification = identificationOf(configuration);
    if (identity.told === null || identification === null) throw ambiguous(sought, fitting);
    const used = await userWords(fitting, await connectedAt(options.inUse(), fitting), options.holders);
    const free = fitting.filter((path) => !used.has(path));
    const answers = await Promise.all(free.map((path) => askOne(path, baudRate, identification)));
    const same = free.filter((_, index) => {
      const answer = answers[index];
      return answer?.answer === 'recognised' && answer.told === identity.told;
    });
    const [found, ...others] = same;
    if (found !== undefined && others.length === 0) return { ...settings, path: found };
    if (found !== undefined) throw ambiguous(sought, same);
    const said = free.map((path, index) => `${path}: ${answerWords(answers[index])}`);
    const left = [...used].map(([path, by]) => `${path}: left alone, used by ${by}`);
    throw notFound(sought, `did not answer at ${fitting.join(', ')} (${[...said, ...left].join('; ')})`);
  };

  return {
    async offered(inTrial) {
      const listing = await listNow();
      const paths = listing.ports.map(({ path }) => path);
      const instruments = await belongingTo(options.inUse(), paths, listedNow, inTrial);
      const used = await userWords(paths, instruments, options.holders);
      return {
        ports: listing.ports.map((port) => ({ ...port, usedBy: used.get(port.path) ?? null })),
        note: listing.note,
      };
    },
    line(ask) {
      const configuration = configurationOf(ask);
      const load = loadOf(configuration);
      const identification = identificationOf(configuration);
      return {
        recognised:
          identification === null
            ? null
            : {
                question: identification.question === null ? null : questionText(identification.question),
                limitSeconds: identification.limitSeconds,
              },
        load: load === null ? null : loadWords([load], ask.baudRate),
        overload: load === null ? null : overload([load], ask.baudRate),
      };
    },
    async ask(ask, ports, inTrial) {
      const identification = identificationOf(configurationOf(ask));
      if (identification === null) {
        throw new ChambersideError(
          'action-refused',
          'nothing that such an instrument says tells it from others',
          `${ask.kind} ${ask.dialect}`,
          'Choose its port by what the machine says of it, or type the name.',
        );
      }
      const paths = [...new Set(ports)];
      const instruments = await belongingTo(options.inUse(), paths, listedNow, inTrial);
      const [taken] = instruments;
      if (inTrial && taken !== undefined) {
        const what = `a trial is under way, and ${taken[0]} is or was the port of ${taken[1]}`;
        throw new ChambersideError('action-refused', what, taken[0], 'Ask at other ports, or after the trial.');
      }
      const used = await userWords(paths, instruments, options.holders);
      return Promise.all(
        paths.map(async (path): Promise<AskedPort> => {
          const by = used.get(path);
          if (by !== undefined) return { path, answer: 'used', told: null, detail: `left alone, used by ${by}` };
          const answer = await askOne(path, ask.baudRate, identification);
          const told = answer.answer === 'recognised' ? answer.told : null;
          return { path, answer: answer.answer, told, detail: answerWords(answer) };
        }),
      );
    },
    today,
  };
}

const configurationOf = ({ dialect, kind, settings }: LineAsk): InstrumentConfiguration => ({
  ...{ instrument: kind, kind, dialect, settings },
});

function identificationOf(configuration: InstrumentConfiguration): Identification | null {
  const { dialect, instrument, kind, settings } = configuration;
  const manifest = findDriver(kind, dialect);
  return manifest.identify?.(parseSettings(manifest, instrument, settings)) ?? null;
}

const hex = (bytes: Uint8Array): string =>
  Array.from(bytes, (byte) => byte.toString(16).toUpperCase().padStart(2, '0')).join(' ');

/** As text, its line end as `\r` and `\n`, where it is text; else as hexadecimal digits. */
function questionText(question: Uint8Array): string {
  const text = bytesToText(question);
  return /^[\u0020-\u007e]*[\r\n]*$/.test(text) ? text.replaceAll('\r', '\\r').replaceAll('\n', '\\n') : hex(question);
}

function answerWords(answer: PortAnswer | undefined): string {
  if (answer === undefined) return 'not asked';
  return answer.answer === 'recognised' ? answer.seen : answer.detail;
}

interface Sought {
  readonly instrument: string;
  readonly identity: PortIdentity;
  readonly ports: readonly MachinePort[];
}

function there(ports: readonly MachinePort[]): string {
  if (ports.length === 0) return 'There is no port';
  return `There ${ports.length === 1 ? 'is' : 'are'} ${ports
    .map((port) => {
      const { byId, productId, serialNumber, vendorId } = port;
      const words = identityWords({ byId, vendorId, productId, serialNumber, told: null });
      return words === '' ? port.path : `${port.path} (${words})`;
    })
    .join(', ')}`;
}

const retype = 'Plug it in, or choose its port anew; a typed name always works.';

function notFound({ identity, instrument, ports }: Sought, why: string): ChambersideError {
  const what = `${identityWords(identity)} ${why}`;
  return new ChambersideError('port-not-found', what, instrument, `${there(ports)}. ${retype}`);
}

function ambiguous({ identity, instrument, ports }: Sought, fitting: readonly string[]): ChambersideError {
  return new ChambersideError(
    'port-ambiguous',
    `${fitting.length} ports fit ${identityWords(identity)}: ${fitting.join(', ')}`,
    instrument,
    `${there(ports)}. Leave only one of them plugged in, or choose the port by its name.`,
  );
}
