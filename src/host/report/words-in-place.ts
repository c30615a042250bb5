/** About how wide letters are, in sizes: those of the text rather too wide, those of identifiers as they are. */
export const wideLetter = 0.58;
export const wireLetter = 0.625;

/**
 * A text in pieces: a word of more letters than its place holds may be broken anywhere, as nothing else may. A number
 * is not broken, and letters of two units, and letters with marks, would be torn.
 */
export function brokenAt(text: string, mostLetters: number): { text: string; wordBreak?: 'break-all' }[] {
  const pieces: { text: string; wordBreak?: 'break-all' }[] = [];
  for (const word of text.split(/(?<= |\p{L}-(?=\p{L}))/u)) {
    const tooLong = word.trimEnd().length > mostLetters && !/[\ud800-\udfff]|\p{M}|^[−<0-9.]+\s*$/u.test(word);
    const last = pieces.at(-1);
    if (tooLong) pieces.push({ text: word, wordBreak: 'break-all' });
    else if (last !== undefined && last.wordBreak === undefined) last.text += word;
    else pieces.push({ text: word });
  }
  return pieces;
}
