import type { Cancel, Timers } from '../../device/timers.ts';
import type { Transport } from '../../device/transport.ts';
import { createTurns } from '../../device/turns.ts';
import type { OwnedTurns } from '../../device/turns.ts';
import { createReceiver, unheardReason } from './receiver.ts';
import type { Receiver } from './receiver.ts';

/** One line with several instruments on it, opened with the first of them and closed with the last. */
export interface SharedLine {
  /** It is open, or being opened. */
  readonly isOpen: boolean;
  /**
   * A transport of the line for one instrument. What arrives goes to the one that has the turn, or had the last one.
   * @throws what opening the line throws.
   */
  open(now: () => number): Promise<Transport>;
}

interface Party {
  readonly receiver: Receiver;
}

interface OpenLine {
  readonly transport: Transport;
  readonly turns: OwnedTurns;
  readonly parties: Set<Party>;
  /** Who has the turn, or had the last one. */
  speaker: Party | undefined;
}

/**
 * @param openTransport opens the line itself.
 * @param timers of the machine: the rest after a turn is one of the line, whatever time its instruments count.
 */
export function createSharedLine(
  openTransport: (now: () => number) => Promise<Transport>,
  timers: Timers,
): SharedLine {
  let opening: Promise<OpenLine> | undefined;

  const openLine = async (now: () => number): Promise<OpenLine> => {
    const transport = await openTransport(now);
    const line: OpenLine = { transport, turns: createTurns(timers), parties: new Set(), speaker: undefined };
    transport.onBytes((bytes, atMicroseconds) => {
      const heard = line.speaker ?? line.parties.values().next().value;
      if (heard?.receiver.deliver(bytes, atMicroseconds) === false) heard.receiver.end(unheardReason);
    });
    transport.onClose((reason) => {
      opening = undefined;
      line.turns.end();
      for (const party of line.parties) party.receiver.end(reason);
      line.parties.clear();
    });
    return line;
  };

  return {
    get isOpen() {
      return opening !== undefined;
    },
    async open(now) {
      opening ??= openLine(now);
      const mine = opening;
      let line: OpenLine;
      try {
        line = await mine;
      } catch (error) {
        if (opening === mine) opening = undefined;
        throw error;
      }
      return partyTransport(line, () => {
        if (opening === mine) opening = undefined;
      });
    },
  };
}

function partyTransport(line: OpenLine, onLast: () => void): Transport {
  const { transport, turns, parties } = line;
  const receiver = createReceiver();
  const party: Party = { receiver };
  const wishes = new Set<Cancel>();
  let release: ((restMicroseconds: number) => void) | undefined;
  parties.add(party);
  let closing: Promise<void> | undefined;
  return {
    label: `${transport.label}, shared`,
    turns: {
      take(begin) {
        let begun = false;
        let withdraw: Cancel = () => undefined;
        const drop = (): void => {
          wishes.delete(drop);
          withdraw();
        };
        withdraw = turns.take((whenDone) => {
          begun = true;
          wishes.delete(drop);
          line.speaker = party;
          release = whenDone;
          begin((restMicroseconds) => {
            if (release === whenDone) release = undefined;
            whenDone(restMicroseconds);
          });
        });
        if (!begun) wishes.add(drop);
        return drop;
      },
    },
    write(bytes) {
      if (!receiver.ended) transport.write(bytes);
    },
    onBytes: receiver.onBytes,
    onClose: receiver.onClose,
    close() {
      closing ??= (async () => {
        parties.delete(party);
        for (const withdraw of wishes) withdraw();
        wishes.clear();
        if (line.speaker === party) line.speaker = undefined;
        receiver.end('closed by the program');
        if (parties.size === 0) {
          onLast();
          await transport.close();
        } else {
          release?.(0);
        }
        // Whoever listens has been told when this resolves.
        await Promise.resolve();
      })();
      return closing;
    },
  };
}
