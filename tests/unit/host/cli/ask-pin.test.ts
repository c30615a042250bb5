import { PassThrough } from 'node:stream';
import { expect, it } from 'vitest';
import { askPin, type PinTerminal } from '../../../../src/host/cli/ask-pin.ts';

interface Typing {
  readonly terminal: PinTerminal;
  readonly stream: PassThrough;
  readonly shown: string[];
  readonly raw: boolean[];
}

function sitDown(isTTY: boolean): Typing {
  const stream = new PassThrough();
  const shown: string[] = [];
  const raw: boolean[] = [];
  const input = Object.assign(stream, {
    isTTY,
    setRawMode(on: boolean) {
      raw.push(on);
      return input;
    },
  }) as unknown as PinTerminal['input'];
  return { terminal: { input, write: (text) => shown.push(text) }, stream, shown, raw };
}

async function type(typing: Typing, ...keys: string[]): Promise<void> {
  for (const key of keys) {
    typing.stream.write(key);
    await new Promise((resolve) => setImmediate(resolve));
  }
}

it('takes a PIN that is typed twice, corrections included, and shows none of it', async () => {
  const typing = sitDown(true);
  const asked = askPin('PIN for anna', typing.terminal);
  await type(typing, '4', '8', '3', '\u007f', '29', '15', '\r', '482915\r');
  expect(await asked).toBe('482915');
  expect(typing.shown.join('')).toBe('PIN for anna: \nonce more: \n');
  expect(typing.raw).toEqual([true, false]);
});

it.each([
  ['differ', ['1234\r', '1235\r']],
  ['no PIN', ['12\u0003']],
  ['no PIN', ['1234\r', '\u0004']],
])('gives up when they %s, and gives the terminal back', async (why, keys) => {
  const typing = sitDown(true);
  const asked = askPin('PIN', typing.terminal);
  const refused = expect(asked).rejects.toThrow(why);
  await type(typing, ...keys);
  await refused;
  expect(typing.raw).toEqual([true, false]);
});

it.each([
  ['1234\n', '1234'],
  ['1234\r\nnext', '1234'],
  ['1234', '1234'],
])('takes the first line of a pipe: %j', async (text, pin) => {
  const typing = sitDown(false);
  const asked = askPin('PIN', typing.terminal);
  typing.stream.end(text);
  expect(await asked).toBe(pin);
  expect(typing.shown).toEqual([]);
  expect(typing.raw).toEqual([]);
});

it('says that an empty pipe holds none', async () => {
  const typing = sitDown(false);
  const asked = askPin('PIN', typing.terminal);
  const refused = expect(asked).rejects.toThrow(expect.objectContaining({ code: 'usage-bad-value' }));
  typing.stream.end();
  await refused;
});
