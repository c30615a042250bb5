import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { WebSocketServer } from 'ws';
import { ChambersideError } from '../../model/error-code.ts';
import { createAdmissions } from './admissions.ts';
import { createChannels, type ChannelKind } from './channels.ts';
import { doorLimits, type DoorLimits } from './door-limits.ts';
import { ownedByUs, peerOwner } from './peer-owner.ts';
import { answerRequest, upgradeRefusal, sessionIn } from './requests.ts';
import { createRpcService } from './rpc.ts';
import type { ServedHost } from './served-host.ts';
import type { StaticFiles } from './static-files.ts';

/** A host's door for browsers on the same machine. What it guards against stands in docs/threat-model.md. */
export interface BrowserDoor {
  readonly port: number;
  /** A new address that lets one window in, once. */
  issueAddress(): string;
  /** Windows that are connected now. */
  readonly windows: number;
  /** Tells the windows, and gives the port back. */
  close(): Promise<void>;
}

export interface BrowserDoorOptions {
  /** 0: one that is free. */
  readonly port: number;
  readonly files: StaticFiles;
  /** Told of defects, with where they showed: their words and stack never reach a window. */
  readonly onDefect: (error: unknown, where: string) => void;
  readonly limits?: Partial<DoorLimits>;
}

const loopback = '127.0.0.1';

/** How long windows have to take their leave, ms. */
const leaveMilliseconds = 500;

/**
 * Opens the door on 127.0.0.1 and nowhere else.
 * @throws ChambersideError `port-busy`, `port-failed`.
 */
export async function openBrowserDoor(host: ServedHost, options: BrowserDoorOptions): Promise<BrowserDoor> {
  const limits: DoorLimits = { ...doorLimits, ...options.limits };
  const admissions = createAdmissions(() => performance.now());
  const channels = createChannels(host, createRpcService(host, options.onDefect), limits, options.onDefect);
  const server = createServer({
    // Connections that say nothing take the places of windows until they are put out.
    headersTimeout: 3_000,
    requestTimeout: 10_000,
    connectionsCheckingInterval: 1_000,
    keepAliveTimeout: 5_000,
    maxHeaderSize: 16 * 1024,
  });
  server.maxConnections = 128;
  await listen(server, options.port);
  const { port } = server.address() as AddressInfo;
  const door = { authority: `${loopback}:${port}`, port, admissions, files: options.files };

  server.on('connection', (socket) => {
    const owner = peerOwner(socket.remotePort ?? 0, port);
    if (!ownedByUs(owner, process.getuid?.() ?? null, process.env['SUDO_UID'])) socket.destroy();
  });
  server.on('request', (request, response) => answerRequest(door, request, response));

  const upgrade = (maxPayload: number): WebSocketServer =>
    new WebSocketServer({ noServer: true, perMessageDeflate: false, maxPayload, clientTracking: false });
  const upgrades: Readonly<Record<ChannelKind, WebSocketServer>> = {
    rpc: upgrade(limits.mostRpcBytes),
    samples: upgrade(limits.mostSampleBytes),
  };
  server.on('upgrade', (request, socket, head) => {
    socket.on('error', () => undefined);
    const refusal = upgradeRefusal(door, request);
    if (refusal !== null) {
      socket.end(`HTTP/1.1 ${refusal}\r\nConnection: close\r\nContent-Length: 0\r\n\r\n`);
      return;
    }
    const kind: ChannelKind = request.url === '/rpc' ? 'rpc' : 'samples';
    const session = sessionIn(request, port) ?? '';
    upgrades[kind].handleUpgrade(request, socket, head, (webSocket) => {
      channels.accept(kind, webSocket, (secret) => {
        const admitted = admissions.mayOpen(session, secret);
        if (!admitted) admissions.noteWrongSecret(session);
        return admitted;
      });
    });
  });

  return {
    port,
    issueAddress: () => `http://${door.authority}/?token=${admissions.issueToken()}`,
    get windows() {
      return channels.windows;
    },
    async close() {
      channels.close();
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      const patience = setTimeout(() => {
        channels.terminate();
        server.closeAllConnections();
      }, leaveMilliseconds);
      server.closeIdleConnections();
      await closed;
      clearTimeout(patience);
    },
  };
}

function listen(server: Server, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', (error: NodeJS.ErrnoException) => reject(listenError(error, port)));
    server.listen({ host: loopback, port, exclusive: true }, resolve);
  });
}

function listenError(error: NodeJS.ErrnoException, port: number): ChambersideError {
  const where = `${loopback}:${port}`;
  return error.code === 'EADDRINUSE'
    ? new ChambersideError(
        'port-busy',
        'Another program listens there',
        where,
        'Choose another --port, or none.',
        error,
      )
    : new ChambersideError('port-failed', error.message, where, 'Choose another --port, or none.', error);
}
