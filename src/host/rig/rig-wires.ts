import { mkdtempSync, renameSync, rmSync, symlinkSync } from 'node:fs';
import { createServer, type Server, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { basename, dirname, join } from 'node:path';
import type { Connection } from '../../device/transport.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { createOutbox } from './outbox.ts';
import { openPseudoTerminal } from './pseudo-terminal.ts';

/** The instrument's end of one real wire. */
export interface RigWire {
  readonly connection: Connection;
  /** Bytes that a program was too slow to take, so far. */
  readonly droppedBytes: number;
  /** Towards the program; lost while none is there. Never blocks. */
  send(bytes: Uint8Array): void;
  /** The cable is pulled: a program sees its connection break. */
  close(): Promise<void>;
}

/** Makes the wires of one rig. */
export interface RigWires {
  /**
   * @param newName false gives the name that the instrument had before, true one that it never had.
   * @throws ChambersideError `rig-process-failed` when the operating system refuses.
   */
  open(instrument: string, newName: boolean, onBytes: (bytes: Uint8Array) => void): Promise<RigWire>;
  /** Removes what names the wires, after they are closed. */
  release(): void;
}

const folderPrefix = 'chamberside-rig-';

/** Removes the folder that names a dead rig's pseudo-terminals; does nothing for any other connection. */
export function removeWireFolder(connection: Connection): void {
  if (connection.transport !== 'serial') return;
  const folder = dirname(connection.path);
  if (basename(folder).startsWith(folderPrefix)) rmSync(folder, { recursive: true, force: true });
}

/** A serial line needs a rate; a pseudo-terminal takes any and keeps none. */
const baudRate = 115_200;

/**
 * Pseudo-terminals under names in a folder of their own, `/tmp/…/photometer`, so that an instrument can come back
 * under the same name although the operating system numbers pseudo-terminals as it likes.
 */
export function createPseudoTerminalWires(): RigWires {
  const folder = mkdtempSync(join(tmpdir(), folderPrefix));
  const numbers = new Map<string, number>();
  return {
    async open(instrument, newName, onBytes) {
      const number = (numbers.get(instrument) ?? 1) + (newName ? 1 : 0);
      numbers.set(instrument, number);
      const path = join(folder, number === 1 ? instrument : `${instrument}-${number}`);
      const terminal = openPseudoTerminal({ onBytes });
      // Made aside and moved into place: a program that tries meanwhile finds either nothing or the whole link.
      symlinkSync(terminal.path, `${path}.new`);
      renameSync(`${path}.new`, path);
      return {
        connection: { transport: 'serial', path, baudRate },
        get droppedBytes() {
          return terminal.droppedBytes;
        },
        send: (bytes) => terminal.write(bytes),
        async close() {
          rmSync(path, { force: true });
          terminal.close();
        },
      };
    },
    release: () => rmSync(folder, { recursive: true, force: true }),
  };
}

/** What a socket may hold before the rest waits in the outbox, bytes. */
const socketLimitBytes = 16_384;

/** How long a second program waits for the first one's end before it is hung up on, ms. */
const takeOverMilliseconds = 250;

function listen(server: Server, port: number, instrument: string): Promise<number> {
  return new Promise((resolve, reject) => {
    server.once('error', (cause) => {
      reject(
        new ChambersideError(
          'rig-process-failed',
          `no TCP port could be opened for ${instrument}: ${cause.message}`,
          `virtual rig, ${instrument}`,
          'Start the rig again; the operating system chooses the ports.',
          cause,
        ),
      );
    });
    server.listen(port, '127.0.0.1', () => {
      const address = server.address();
      resolve(address !== null && typeof address === 'object' ? address.port : port);
    });
  });
}

/** One TCP server on the loopback address per instrument, one program at a time: a second is hung up on. */
export function createTcpWires(): RigWires {
  const ports = new Map<string, number>();
  return {
    async open(instrument, newName, onBytes) {
      let program: Socket | undefined;
      const sockets = new Set<Socket>();
      const outbox = createOutbox({
        send(bytes) {
          if (program === undefined || program.writableLength >= socketLimitBytes) return 0;
          program.write(bytes);
          return bytes.length;
        },
      });
      const serve = (socket: Socket): void => {
        program = socket;
        socket.on('data', (chunk: Buffer) => onBytes(new Uint8Array(chunk)));
        socket.on('drain', () => outbox.pump());
        socket.on('close', () => {
          program = undefined;
          outbox.clear();
        });
      };
      const server = createServer({ noDelay: true }, (socket) => {
        socket.on('error', () => undefined);
        sockets.add(socket);
        socket.on('close', () => sockets.delete(socket));
        if (program === undefined) {
          serve(socket);
          return;
        }
        // A program that closes and opens again at once may be seen here before its old connection is seen to end.
        const refuse = setTimeout(() => socket.destroy(), takeOverMilliseconds);
        socket.once('close', () => clearTimeout(refuse));
        program.once('close', () => {
          clearTimeout(refuse);
          if (socket.destroyed) return;
          if (program === undefined) serve(socket);
          else socket.destroy();
        });
      });
      const previous = newName ? 0 : (ports.get(instrument) ?? 0);
      const port = await listen(server, previous, instrument);
      ports.set(instrument, port);
      return {
        connection: { transport: 'tcp', host: '127.0.0.1', port },
        get droppedBytes() {
          return outbox.droppedBytes;
        },
        send(bytes) {
          if (program !== undefined) outbox.push(bytes);
        },
        close: () =>
          new Promise((resolve) => {
            for (const socket of sockets) socket.destroy();
            server.close(() => resolve());
          }),
      };
    },
    release: () => undefined,
  };
}
