import type { ReadStream } from 'node:tty';
import { ChambersideError } from '../../model/error-code.ts';

/** The part of standard input and error that a PIN is asked through; replaced in tests. */
export interface PinTerminal {
  readonly input: Pick<ReadStream, 'on' | 'off' | 'resume' | 'pause' | 'isTTY' | 'setRawMode'>;
  write(text: string): void;
}

/**
 * A PIN from a terminal, not shown and typed twice, or the first line of a pipe.
 * @param known typed once: it is held against the one that is known.
 * @throws ChambersideError `usage-bad-value` when both differ, nothing came, or it was given up (Ctrl-C, Ctrl-D).
 */
export async function askPin(prompt: string, terminal: PinTerminal, known = false): Promise<string> {
  if (!terminal.input.isTTY) return (await readUntilEnter(terminal)).replace(/\r$/, '');
  terminal.input.setRawMode(true);
  try {
    terminal.write(`${prompt}: `);
    const pin = await readUntilEnter(terminal);
    if (known) {
      terminal.write('\n');
      return pin;
    }
    terminal.write('\nonce more: ');
    const again = await readUntilEnter(terminal);
    terminal.write('\n');
    if (again === pin) return pin;
    throw givenUp('the two PINs differ');
  } finally {
    terminal.input.setRawMode(false);
  }
}

const controlC = '\u0003';
const controlD = '\u0004';
const backspaces = ['\u0008', '\u007f'];

/** What is typed or piped up to the end of a line. More than one line in a chunk is left unread. */
function readUntilEnter({ input }: PinTerminal): Promise<string> {
  return new Promise((resolve, reject) => {
    let typed = '';
    const settle = (finish: () => void): void => {
      input.off('data', onData);
      input.off('end', onEnd);
      input.off('error', onError);
      input.pause();
      finish();
    };
    const onError = (error: Error): void => settle(() => reject(error));
    const onEnd = (): void =>
      settle(() => {
        if (typed === '') reject(givenUp('no PIN was given'));
        else resolve(typed);
      });
    const onData = (chunk: Buffer | string): void => {
      for (const character of chunk.toString()) {
        if (character === '\n' || (character === '\r' && input.isTTY)) {
          settle(() => resolve(typed));
          return;
        }
        if (character === controlC || character === controlD) {
          settle(() => reject(givenUp('no PIN was given')));
          return;
        }
        typed = backspaces.includes(character) ? typed.slice(0, -1) : typed + character;
      }
    };
    input.on('data', onData);
    input.on('end', onEnd);
    input.on('error', onError);
    input.resume();
  });
}

function givenUp(what: string): ChambersideError {
  return new ChambersideError('usage-bad-value', what, 'PIN', 'Run it again; nothing was changed.');
}
