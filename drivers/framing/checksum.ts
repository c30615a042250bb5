const toTwoDigits = (value: number): string => value.toString(16).toUpperCase().padStart(2, '0');

/** Exclusive-or of all characters (Latin-1, one a byte), as two upper-case hex digits. `''` gives `00`. */
export function xorChecksum(text: string): string {
  let sum = 0;
  for (let index = 0; index < text.length; index += 1) sum ^= text.charCodeAt(index);
  return toTwoDigits(sum & 0xff);
}

/** Sum of all characters (Latin-1, one a byte) modulo 256, as two upper-case hex digits. `''` gives `00`. */
export function sumChecksum(text: string): string {
  let sum = 0;
  for (let index = 0; index < text.length; index += 1) sum = (sum + text.charCodeAt(index)) & 0xff;
  return toTwoDigits(sum);
}
