import { compileTemplate } from '../../framing/template.ts';
import type { RelayBoardSettings } from './manifest.ts';

/** Tokens of the templates. */
export const relayTokens: readonly string[] = ['relay', 'any'];

export type RelayCommand = { readonly on: boolean; readonly port: number };

export interface RelayBoardCodec {
  /** Lines without terminator. */
  encode(command: RelayCommand): string;
  /** What a line to the board says; undefined when it says nothing. Never throws. */
  decode(line: string): RelayCommand | undefined;
  /** The line is what this board says when it has heard a command. */
  isAnswer(line: string): boolean;
  /** What the board says to a command; undefined for a board that says nothing. For simulators. */
  answer(command: RelayCommand): string | undefined;
}

const relayNumber = /^[0-9]{1,3}$/;

/** Codec of one board; the templates are compiled once. */
export function createRelayBoardCodec(settings: RelayBoardSettings): RelayBoardCodec {
  const on = compileTemplate(settings.on, relayTokens);
  const off = compileTemplate(settings.off, relayTokens);
  const answer = settings.answer === null ? undefined : compileTemplate(settings.answer, relayTokens);
  const relayOf = (port: number): string => String(port - 1 + settings.firstRelay);
  const portIn = (template: typeof on, line: string): number | undefined => {
    const text = template.match(line)?.['relay']?.text;
    return text !== undefined && relayNumber.test(text) ? Number(text) - settings.firstRelay + 1 : undefined;
  };
  return {
    encode: (command) => (command.on ? on : off).format({ relay: relayOf(command.port) }),
    decode(line) {
      const switched = portIn(on, line);
      if (switched !== undefined) return { on: true, port: switched };
      const released = portIn(off, line);
      return released === undefined ? undefined : { on: false, port: released };
    },
    isAnswer: (line) => answer?.match(line) !== undefined,
    answer: (command) => answer?.format({ relay: relayOf(command.port), any: '' }),
  };
}
