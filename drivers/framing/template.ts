/**
 * Line templates: what a line looks like, written by the user, without regular expressions. `conc {value} {unit}`
 * names the tokens; everything else is literal. Matching is one forward pass without backtracking, so its cost is
 * linear in the line whatever the template and the line are.
 *
 * Rules: a run of blanks in the template stands for one or more blanks or tabs; blanks at both ends of the line are
 * ignored; a token runs to the first place where what follows it in the template begins, the last one to the end of
 * the line. Two tokens need something literal between them.
 */
export interface Template {
  /** Tokens in order of appearance, `any` as often as it appears. */
  readonly tokens: readonly string[];
  /** Text of each token, trimmed; undefined when the line does not have this form. Of several `any`, none is kept. */
  match(line: string): Readonly<Record<string, TokenText>> | undefined;
  /** The line with these token texts; an absent token is empty. */
  format(values: Readonly<Record<string, string>>): string;
}

export interface TokenText {
  readonly text: string;
  /** Index in the line of the token's first character. */
  readonly from: number;
}

type Part =
  | { readonly part: 'blanks' }
  | { readonly part: 'text'; readonly text: string }
  | { readonly part: 'token'; readonly token: string };

const isBlank = (character: string): boolean => character === ' ' || character === '\t' || character === '\r';

function splitTemplate(template: string): Part[] {
  const parts: Part[] = [];
  let index = 0;
  while (index < template.length) {
    const character = template.charAt(index);
    if (character === '{') {
      const close = template.indexOf('}', index);
      if (close < 0) throw new RangeError(`the template has a { without }: ${template}`);
      parts.push({ part: 'token', token: template.slice(index + 1, close) });
      index = close + 1;
    } else if (isBlank(character)) {
      while (index < template.length && isBlank(template.charAt(index))) index += 1;
      parts.push({ part: 'blanks' });
    } else {
      let end = index;
      while (end < template.length && template.charAt(end) !== '{' && !isBlank(template.charAt(end))) end += 1;
      parts.push({ part: 'text', text: template.slice(index, end) });
      index = end;
    }
  }
  return parts;
}

function firstBlank(line: string, from: number): number {
  for (let index = from; index < line.length; index += 1) if (isBlank(line.charAt(index))) return index;
  return -1;
}

function skipBlanks(line: string, from: number): number {
  let index = from;
  while (index < line.length && isBlank(line.charAt(index))) index += 1;
  return index;
}

/**
 * Compiles a template.
 * @param allowed tokens that may appear; `any` may appear more than once, the others once.
 * @throws RangeError saying what is wrong with the template.
 */
export function compileTemplate(template: string, allowed: readonly string[]): Template {
  const parts = splitTemplate(template.trim());
  const tokens: string[] = [];
  if (/[^\u0020-\u007e\u00a0-\u00ff]/.test(template))
    throw new RangeError('a template holds printable single-byte characters only');
  if (parts.length === 0) throw new RangeError('the template is empty');
  for (const [index, part] of parts.entries()) {
    if (part.part === 'text' && part.text.includes('}'))
      throw new RangeError(`the template has a } without {: ${template}`);
    if (part.part !== 'token') continue;
    if (!allowed.includes(part.token)) {
      throw new RangeError(`{${part.token}} is no token here; use ${allowed.map((name) => `{${name}}`).join(', ')}`);
    }
    if (part.token !== 'any' && tokens.includes(part.token)) throw new RangeError(`{${part.token}} appears twice`);
    if (parts[index + 1]?.part === 'token') {
      throw new RangeError(`two tokens need something literal between them: ${template}`);
    }
    tokens.push(part.token);
  }
  return {
    tokens,
    match(line) {
      const found: Record<string, TokenText> = {};
      let position = skipBlanks(line, 0);
      for (const [index, part] of parts.entries()) {
        if (part.part === 'blanks') {
          const after = skipBlanks(line, position);
          if (after === position) return undefined;
          position = after;
        } else if (part.part === 'text') {
          if (!line.startsWith(part.text, position)) return undefined;
          position += part.text.length;
        } else {
          const next = parts[index + 1];
          const end =
            next === undefined
              ? line.length
              : next.part === 'text'
                ? line.indexOf(next.text, position)
                : firstBlank(line, position);
          if (end < 0) return undefined;
          if (part.token !== 'any') found[part.token] = { text: line.slice(position, end).trim(), from: position };
          position = end;
        }
      }
      return skipBlanks(line, position) === line.length ? found : undefined;
    },
    format(values) {
      return parts
        .map((part) => (part.part === 'blanks' ? ' ' : part.part === 'text' ? part.text : (values[part.token] ?? '')))
        .join('');
    },
  };
}
