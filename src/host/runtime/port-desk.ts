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
import { within } from '../transport/within.ts';
import { loadOf } from './line-load.ts';
import { belongingTo, keptByOthers, rivalFor, userWords } from './port-users.ts';
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
   * The connection with today's name of the port. What was typed is given back as it is. Asks who is there where
   * several ports fit, or one that cannot be told from others, and who it was is known: at every free port that fits.
   * @throws ChambersideError `port-not-found`, `port-ambiguous`: what was looked for, and what there is; `port-failed`:
   *   the machine does not list its ports.
   */
  today(configuration: InstrumentConfiguration, settings: ConnectionSettings): Promise<ConnectionSettings>;
}

export function createPortDesk(options: PortDeskOptions): PortDesk {
  const { clock } = options;
  /** One that is under way serves all that ask meanwhile; an older one may name a port that another has by now. */
  let underWay: Promise<PortListing> | null = null;
  /** One that took too long and is still at it: another would only hang beside it. */
  let hangs = false;
  const listNow = (): Promise<PortListing> => {
    underWay ??= listOnce().finally(() => {
      underWay = null;
    });
    return underWay;
  };
  const listOnce = async (): Promise<PortListing> => {
    if (hangs) throw notListed();
    const listing = options.list();
    const listed = await within(clock, listingSeconds, listing, null);
    if (listed !== null) return listed;
    hangs = true;
    const settled = (): void => {
      hangs = false;
    };
    listing.then(settled, settled);
    throw notListed();
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
    const { note, ports } = await listNow();
    const sought = { instrument: configuration.instrument, identity, ports, note };
    const byAdapter = fittingPorts(identity, ports)?.map(({ path }) => path) ?? null;
    const fitting = byAdapter ?? [settings.path];
    const [only] = fitting;
    if (only === undefined) throw notFound(sought, 'is connected to no port of this machine');
    const identification = identity.told === null ? null : identificationOf(configuration);
    const others = options.inUse().filter(({ instrument }) => instrument !== configuration.instrument);
    if (byAdapter !== null && fitting.length === 1) {
      const shares = findDriver(configuration.kind, configuration.dialect).sharesLine === true;
      const doubt = await rivalFor(only, { path: settings.path, identity }, shares, others);
      if (doubt !== null && identification === null) throw doubtful(sought, only, doubt);
      // A serial number is one adapter's own. Without one, who is there is asked wherever it can be.
      if (doubt === null && (identity.serialNumber !== null || identification === null)) {
        return { ...settings, path: only };
      }
    }
    if (identification === null) throw ambiguous(sought, fitting);
    const used = await userWords(fitting, await keptByOthers(others, fitting), options.holders);
    const free = fitting.filter((path) => !used.has(path));
    const answers = await Promise.all(free.map((path) => askOne(path, baudRate, identification)));
    const same = free.filter((_, index) => {
      const answer = answers[index];
      return answer?.answer === 'recognised' && answer.told === identity.told;
    });
    const [found] = same;
    if (found !== undefined && same.length === 1) return { ...settings, path: found };
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
  /** What the machine's list may lack. */
  readonly note: string | null;
}

function there({ ports }: Sought): string {
  if (ports.length === 0) return 'There is no port';
  return `There ${ports.length === 1 ? 'is' : 'are'} ${ports
    .map((port) => {
      const { byId, productId, serialNumber, vendorId } = port;
      const words = identityWords({ byId, vendorId, productId, serialNumber, told: null });
      return words === '' ? port.path : `${port.path} (${words})`;
    })
    .join(', ')}`;
}

const noteOf = ({ note }: Sought): string => (note === null ? '' : ` ${note}`);

const retype = 'Plug it in, or choose its port anew; a typed name always works.';

function notFound(sought: Sought, why: string): ChambersideError {
  const what = `${identityWords(sought.identity)} ${why}`;
  const remedy = `${there(sought)}. ${retype}${noteOf(sought)}`;
  return new ChambersideError('port-not-found', what, sought.instrument, remedy);
}

function ambiguous(sought: Sought, fitting: readonly string[]): ChambersideError {
  return new ChambersideError(
    'port-ambiguous',
    `${fitting.length} ports fit ${identityWords(sought.identity)}: ${fitting.join(', ')}`,
    sought.instrument,
    `${there(sought)}. Leave only one plugged in, or choose the port by its name.${noteOf(sought)}`,
  );
}

function doubtful(sought: Sought, path: string, doubt: string): ChambersideError {
  return new ChambersideError(
    'port-ambiguous',
    `only ${path} fits ${identityWords(sought.identity)}, and ${doubt}`,
    sought.instrument,
    `${there(sought)}. Choose the port of both by its name.${noteOf(sought)}`,
  );
}

/** The listing has its own limit for what the operating system takes; this one is for whatever hangs besides. */
const listingSeconds = 4;

function notListed(): ChambersideError {
  return new ChambersideError(
    'port-failed',
    `the machine has not listed its serial ports within ${listingSeconds} s`,
    'serial ports',
    'Type the name of the port: that always works. Look what hangs on this machine.',
  );
}
