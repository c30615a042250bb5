/** What an instrument sends under its settings, at the least. */
export interface WireLoad {
  /** What is sent again and again: a line; a round of questions and answers. */
  readonly of: 'line' | 'round';
  /** Characters of one, its end included; of a round also the silences that its frames need. */
  readonly characters: number;
  readonly perSecond: number;
}

/** A character at 8N1: start bit, 8 data bits, stop bit. */
export const bitsPerCharacter = 10;

/** Bits a second that these take together on one port. */
export function loadBitsPerSecond(loads: readonly WireLoad[]): number {
  return loads.reduce((sum, { characters, perSecond }) => sum + characters * bitsPerCharacter * perSecond, 0);
}

const short = (value: number): string => String(Number(value.toPrecision(4)));

/** `a line of 10 characters × 10 bits × 100 a second = 10000 bit/s` */
function arithmetic({ of, characters, perSecond }: WireLoad): string {
  const bits = short(characters * bitsPerCharacter * perSecond);
  const times = `${characters} characters × ${bitsPerCharacter} bits × ${short(perSecond)} a second`;
  return `a ${of} of ${times} = ${bits} bit/s`;
}

/** With its share of the port: `a line of 28 characters × 10 bits × 20 a second = 5600 bit/s, 58 % of 9600`. */
export function loadWords(loads: readonly WireLoad[], baudRate: number): string {
  const bits = loadBitsPerSecond(loads);
  const sum = loads.length > 1 ? `, together ${short(bits)} bit/s` : '';
  const percent = (bits / baudRate) * 100;
  return `${loads.map(arithmetic).join('; ')}${sum}, ${percent < 1 ? 'under 1' : Math.round(percent)} % of ${baudRate}`;
}

/** What comes of that. No dialect asks again before the answer has come. */
export const overloadFollows =
  'What is asked for comes more slowly then; what an instrument sends by itself comes late or is lost, ' +
  'unless it sends less often than that.';

/**
 * Why a serial port cannot carry what the settings of its instruments say, with the arithmetic; null: it can. Lines are
 * counted at their shortest.
 * @param baudRate bits a second, > 0.
 */
export function overload(loads: readonly WireLoad[], baudRate: number): string | null {
  const bits = loadBitsPerSecond(loads);
  if (bits <= baudRate) return null;
  const sum = loads.length > 1 ? `, together ${short(bits)} bit/s` : '';
  return `${loads.map(arithmetic).join('; ')}${sum}, and the port carries ${baudRate}`;
}
