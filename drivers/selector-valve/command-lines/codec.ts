import { compileTemplate } from '../../framing/template.ts';
import type { SelectorValveSettings } from './manifest.ts';

/** Tokens of the templates. */
export const wordTokens: readonly string[] = ['port', 'any'];

/** What the valve says. */
export type ValveMessage =
  | { readonly message: 'acknowledged'; readonly port: number }
  | { readonly message: 'position'; readonly port: number }
  | { readonly message: 'refused'; readonly text: string };

/** What the valve is told. */
export type ValveCommand = { readonly command: 'select'; readonly port: number } | { readonly command: 'query' };

export interface SelectorValveCodec {
  /** A line from the valve; undefined when it is none of the three. Never throws. */
  decode(line: string): ValveMessage | undefined;
  /** A line to the valve; undefined when it is neither of the two. Never throws. */
  decodeCommand(line: string): ValveCommand | undefined;
  /** Lines without terminator. */
  encode(message: ValveMessage): string;
  encodeCommand(command: ValveCommand): string;
}

const portNumber = /^[0-9]{1,3}$/;

/** Codec of one valve; the templates are compiled once. */
export function createSelectorValveCodec(settings: SelectorValveSettings): SelectorValveCodec {
  const command = compileTemplate(settings.command, wordTokens);
  const acknowledge = compileTemplate(settings.acknowledge, wordTokens);
  const position = compileTemplate(settings.position, wordTokens);
  const refusal = compileTemplate(settings.refusal, wordTokens);

  const portIn = (template: typeof command, line: string): number | undefined => {
    const text = template.match(line)?.['port']?.text;
    return text !== undefined && portNumber.test(text) ? Number(text) : undefined;
  };

  return {
    decode(line) {
      const acknowledged = portIn(acknowledge, line);
      if (acknowledged !== undefined) return { message: 'acknowledged', port: acknowledged };
      const stands = portIn(position, line);
      if (stands !== undefined) return { message: 'position', port: stands };
      if (refusal.match(line) !== undefined) return { message: 'refused', text: line.trim() };
      return undefined;
    },
    decodeCommand(line) {
      if (line.trim() === settings.query.trim()) return { command: 'query' };
      const port = portIn(command, line);
      return port === undefined ? undefined : { command: 'select', port };
    },
    encode(message) {
      if (message.message === 'refused') return refusal.format({ any: message.text });
      const template = message.message === 'acknowledged' ? acknowledge : position;
      return template.format({ port: String(message.port) });
    },
    encodeCommand: (asked) =>
      asked.command === 'query' ? settings.query : command.format({ port: String(asked.port) }),
  };
}
