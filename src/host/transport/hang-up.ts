import { read } from 'node:fs';
import { promisify } from 'node:util';

const readAsync = promisify(read);

/** The part of the serial library's port on Linux and macOS that reading needs. */
interface UnixPort {
  /** Null once it is closed. */
  readonly fd: number | null;
  readonly poller: { once(event: 'readable', callback: (error: Error | null) => void): unknown };
  read(buffer: Buffer, offset: number, length: number): Promise<{ buffer: Buffer; bytesRead: number }>;
}

function isUnixPort(port: unknown): port is UnixPort {
  return typeof port === 'object' && port !== null && 'fd' in port && 'poller' in port && 'read' in port;
}

function errorCodeOf(error: unknown): string {
  return error instanceof Error && 'code' in error ? String(error.code) : '';
}

/** The library takes an error with this mark for the consequence of its own closing. */
function cancelled(): Error {
  return Object.assign(new Error('the port was closed'), { canceled: true });
}

/**
 * Makes a port's reads fail when the device is gone. The operating system answers a read on a hung-up line with zero
 * bytes, for ever; the library takes that for "try again" and spins without end, unless the hang-up happens to come
 * while it waits. (Known upstream as bindings-cpp issue 162; a boot on the cable is enough.) A port in raw mode that
 * has nothing to say answers "again", never zero, so zero means gone.
 * Does nothing for a port of another platform, where the library reads in another way.
 */
export function failReadsAfterHangUp(port: unknown): void {
  if (!isUnixPort(port)) return;
  port.read = async (buffer, offset, length) => {
    for (;;) {
      if (port.fd === null) throw cancelled();
      try {
        const { bytesRead } = await readAsync(port.fd, buffer, offset, length, null);
        if (bytesRead > 0) return { buffer, bytesRead };
        throw new Error('the device is gone');
      } catch (error) {
        if (!['EAGAIN', 'EWOULDBLOCK', 'EINTR'].includes(errorCodeOf(error))) throw error;
      }
      if (port.fd === null) throw cancelled();
      await new Promise<void>((resolve, reject) => {
        port.poller.once('readable', (error) => {
          if (error === null) resolve();
          else reject(error);
        });
      });
    }
  };
}
