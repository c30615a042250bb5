/** Bytes as text, one character a byte (Latin-1), so that nothing on the wire is lost or replaced. */
export function bytesToText(bytes: Uint8Array): string {
  let text = '';
  for (let index = 0; index < bytes.length; index += 1) text += String.fromCharCode(bytes[index] as number);
  return text;
}

/** Text to bytes, one byte a character. @throws RangeError for a character above U+00FF. */
export function textToBytes(text: string): Uint8Array {
  const bytes = new Uint8Array(text.length);
  for (let index = 0; index < text.length; index += 1) {
    const code = text.charCodeAt(index);
    if (code > 0xff) throw new RangeError(`character ${index} of ${JSON.stringify(text)} is not a single byte`);
    bytes[index] = code;
  }
  return bytes;
}
