import type { Identification, Recognition } from '../../device/identification.ts';
import type { Clock } from '../../device/timers.ts';
import type { Connection, Transport } from '../../device/transport.ts';
import { bytesToText } from '../../model/bytes.ts';
import { isChambersideError } from '../../model/error-code.ts';
import { within } from './within.ts';

/** What came of asking at one port. */
export type PortAnswer =
  | ({ readonly answer: 'recognised' } & Recognition)
  /** Something came that is no answer of this dialect. */
  | { readonly answer: 'other'; readonly detail: string }
  | { readonly answer: 'nothing'; readonly detail: string }
  /** It could not be opened, or broke. */
  | { readonly answer: 'failed'; readonly detail: string };

/** What has come is judged up to here; more is no answer to one question. */
const mostBytes = 4_096;
const mostShown = 40;
/** How long a port may take to open, and to close, s. */
const handlingSeconds = 3;

/** Characters beyond those that are printed stand as dots. */
const printable = (bytes: Uint8Array): string =>
  JSON.stringify(bytesToText(bytes.slice(0, mostShown)).replaceAll(/[^\u0020-\u007e]/g, '·'));

/**
 * Opens a port, asks or listens, and gives the port back. Never throws: what goes wrong is an answer. A port that does
 * not close is left to itself.
 * @param open opens the connection, with the clock of its stamps.
 */
export async function askPort(
  connection: Connection,
  identification: Identification,
  clock: Clock,
  open: (connection: Connection, now: () => number) => Promise<Transport>,
): Promise<PortAnswer> {
  let transport: Transport;
  const opening = open(connection, clock.now);
  try {
    const opened = await within(clock, handlingSeconds, opening, null);
    if (opened === null) {
      // Whenever it comes, nobody waits for it.
      opening.then((late) => late.close()).catch(() => undefined);
      return { answer: 'failed', detail: `it was not open within ${handlingSeconds} s` };
    }
    transport = opened;
  } catch (error) {
    return { answer: 'failed', detail: isChambersideError(error) ? error.what : String(error) };
  }
  const { limitSeconds, question } = identification;
  let received = new Uint8Array(0);
  try {
    return await new Promise<PortAnswer>((resolve) => {
      const cancel = clock.after(limitSeconds * 1_000_000, () => {
        resolve(
          received.length === 0
            ? { answer: 'nothing', detail: `nothing came within ${limitSeconds} s` }
            : { answer: 'other', detail: `${received.length} bytes that do not fit: ${printable(received)}` },
        );
      });
      transport.onClose((reason) => {
        cancel();
        resolve({ answer: 'failed', detail: reason });
      });
      transport.onBytes((bytes) => {
        if (received.length >= mostBytes) return;
        const both = new Uint8Array(received.length + bytes.length);
        both.set(received);
        both.set(bytes, received.length);
        received = both;
        const recognition = identification.recognise(received);
        if (recognition === null) return;
        cancel();
        resolve({ answer: 'recognised', ...recognition });
      });
      if (question !== null) transport.write(question);
    });
  } finally {
    await within(clock, handlingSeconds, transport.close(), undefined);
  }
}
