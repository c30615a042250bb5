import { sampleMessageSchema } from '../../bridge/samples.ts';
import type { SampleChannel, ServedHost } from './served-host.ts';

/** The wire of one window's samples: text messages towards the host, binary frames towards the window. */
export interface SampleWire {
  send(frame: Uint8Array<ArrayBuffer>): void;
  /** What the door holds back because the window does not read. */
  waitingBytes(): number;
  /** The window does not keep to the protocol: the door ends the channel. `reason` is at most 100 characters. */
  refuse(reason: string): void;
}

/** One window's samples, door side. */
export interface SampleConversation {
  receive(text: string): void;
  /** The window has gone; told to the host once. */
  close(): void;
}

/** Opens the host's channel; a message that is none of `sampleMessageSchema`, or a second `hello`, ends it. */
export function openSampleConversation(
  host: Pick<ServedHost, 'openSamples'>,
  wire: SampleWire,
  onDefect: (error: unknown, where: string) => void,
): SampleConversation {
  let channel: SampleChannel | null = null;
  let closed = false;
  const close = (): void => {
    if (closed) return;
    closed = true;
    channel?.close();
  };
  channel = host.openSamples(
    (frame) => {
      if (!closed) wire.send(frame);
    },
    () => wire.waitingBytes(),
  );
  return {
    receive(text) {
      if (closed) return;
      const message = sampleMessageSchema.safeParse(parsed(text));
      if (message.success && message.data.message !== 'hello') {
        try {
          channel.receive(message.data);
        } catch (error) {
          onDefect(error, `samples.${message.data.message}`);
        }
        return;
      }
      close();
      wire.refuse('not a message of the sample channel');
    },
    close,
  };
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
