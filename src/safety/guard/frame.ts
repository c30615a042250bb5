/**
 * What travels between the host and the guard of its loads, on one connection in order. All numbers are little-endian.
 *
 *     uint32   length of what follows, bytes
 *     uint8    kind: 0 message, 1 beat, 2 bytes
 *     message  JSON, ASCII with escapes
 *     beat     float64 when it was sent, µs; 0: not on the other side's clock
 *     bytes    uint32 number of the line, float64 stamp (µs, 0 towards the guard), then the bytes as they were
 */
import { bytesToText, textToBytes } from '../../model/bytes.ts';

export type GuardFrame =
  | { readonly frame: 'message'; readonly message: unknown }
  | { readonly frame: 'beat'; readonly atMicroseconds: number }
  | {
      readonly frame: 'bytes';
      readonly line: number;
      readonly atMicroseconds: number;
      readonly bytes: Uint8Array;
    };

const lengthBytes = 4;
const beatBytes = 9;
const bytesHeadBytes = 13;
/** Nothing that is said is longer; a longer one is no frame of ours. */
const longestFrameBytes = 1_048_576;

/** JSON with everything beyond ASCII escaped: one character is one byte. */
function plainJson(message: unknown): string {
  return JSON.stringify(message).replace(
    /[\u007f-\uffff]/g,
    (character) => `\\u${character.charCodeAt(0).toString(16).padStart(4, '0')}`,
  );
}

function withHead(kind: number, bodyBytes: number): { frame: Uint8Array; view: DataView } {
  const frame = new Uint8Array(lengthBytes + 1 + bodyBytes);
  const view = new DataView(frame.buffer);
  view.setUint32(0, 1 + bodyBytes, true);
  frame[lengthBytes] = kind;
  return { frame, view };
}

export function encodeGuardFrame(said: GuardFrame): Uint8Array {
  switch (said.frame) {
    case 'message': {
      const text = textToBytes(plainJson(said.message));
      const { frame } = withHead(0, text.length);
      frame.set(text, lengthBytes + 1);
      return frame;
    }
    case 'beat': {
      const { frame, view } = withHead(1, beatBytes - 1);
      view.setFloat64(lengthBytes + 1, said.atMicroseconds, true);
      return frame;
    }
    case 'bytes': {
      const { frame, view } = withHead(2, bytesHeadBytes - 1 + said.bytes.length);
      view.setUint32(lengthBytes + 1, said.line, true);
      view.setFloat64(lengthBytes + 5, said.atMicroseconds, true);
      frame.set(said.bytes, lengthBytes + bytesHeadBytes);
      return frame;
    }
  }
}

function decode(body: Uint8Array): GuardFrame | null {
  const view = new DataView(body.buffer, body.byteOffset, body.byteLength);
  switch (body[0]) {
    case 0:
      try {
        return { frame: 'message', message: JSON.parse(bytesToText(body.subarray(1))) };
      } catch {
        return null;
      }
    case 1:
      return body.length === beatBytes ? { frame: 'beat', atMicroseconds: view.getFloat64(1, true) } : null;
    case 2: {
      if (body.length < bytesHeadBytes) return null;
      const line = view.getUint32(1, true);
      return { frame: 'bytes', line, atMicroseconds: view.getFloat64(5, true), bytes: body.slice(bytesHeadBytes) };
    }
    default:
      return null;
  }
}

/**
 * Puts frames together from bytes as they come.
 * @returns what takes the bytes and gives the frames that they complete; null once something was no frame of ours,
 *   after which nothing more can be understood on this connection.
 */
export function createGuardFrameReader(): (bytes: Uint8Array) => GuardFrame[] | null {
  let pending = new Uint8Array(0);
  let broken = false;
  return (bytes) => {
    if (broken) return null;
    const joined = new Uint8Array(pending.length + bytes.length);
    joined.set(pending);
    joined.set(bytes, pending.length);
    const view = new DataView(joined.buffer);
    const frames: GuardFrame[] = [];
    let at = 0;
    while (joined.length - at >= lengthBytes) {
      const length = view.getUint32(at, true);
      if (length === 0 || length > longestFrameBytes) {
        broken = true;
        return null;
      }
      if (joined.length - at - lengthBytes < length) break;
      const frame = decode(joined.subarray(at + lengthBytes, at + lengthBytes + length));
      if (frame === null) {
        broken = true;
        return null;
      }
      frames.push(frame);
      at += lengthBytes + length;
    }
    pending = joined.slice(at);
    return frames;
  };
}
