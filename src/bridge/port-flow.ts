/**
 * Message ports hold any number of messages for a window that does not read, and tell nobody. Over a port the window
 * therefore answers every message of the host with `taken`, once it has handled it, and the host counts.
 */
export const takenMessage = 'taken';

/** The part of a window's message port that is used. */
export interface WindowPort {
  addEventListener(type: 'message', listener: (event: { readonly data: unknown }) => void): void;
  addEventListener(type: 'close', listener: () => void): void;
  postMessage(message: unknown): void;
}

/**
 * The window's end of a port, with the answers added: everything else goes through unchanged. To be wrapped around
 * the port before anybody listens on it.
 */
export function takingPort(port: WindowPort): WindowPort {
  const listeners: ((event: { readonly data: unknown }) => void)[] = [];
  port.addEventListener('message', (event) => {
    for (const listener of listeners) listener(event);
    port.postMessage(takenMessage);
  });
  function addEventListener(type: 'message', listener: (event: { readonly data: unknown }) => void): void;
  function addEventListener(type: 'close', listener: () => void): void;
  function addEventListener(type: 'message' | 'close', listener: (event: { readonly data: unknown }) => void): void {
    if (type === 'message') listeners.push(listener);
    else port.addEventListener('close', () => listener({ data: null }));
  }
  return { addEventListener, postMessage: (message) => port.postMessage(message) };
}
