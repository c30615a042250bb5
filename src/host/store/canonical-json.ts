/**
 * JSON in one form only, so that equal data have equal bytes: no white space, members sorted by the UTF-16 code
 * units of their names, numbers and strings as ECMAScript writes them (the rules of RFC 8785). Members that are
 * undefined are left out.
 * @throws RangeError for NaN, infinities, functions, symbols, big integers, undefined elements, and cycles.
 */
export function canonicalJson(value: unknown): string {
  return write(value, []);
}

function write(value: unknown, within: readonly object[]): string {
  if (value === null || typeof value === 'boolean' || typeof value === 'string') return JSON.stringify(value);
  if (typeof value === 'number') {
    if (!Number.isFinite(value)) throw new RangeError(`${value} cannot be written as JSON`);
    return JSON.stringify(value);
  }
  if (typeof value !== 'object') throw new RangeError(`a value of type ${typeof value} cannot be written as JSON`);
  if (within.includes(value)) throw new RangeError('an object that contains itself cannot be written as JSON');
  const inside = [...within, value];
  if (Array.isArray(value)) return `[${value.map((element: unknown) => write(element, inside)).join(',')}]`;
  const members: string[] = [];
  for (const name of Object.keys(value).sort()) {
    const member: unknown = (value as Record<string, unknown>)[name];
    if (member !== undefined) members.push(`${JSON.stringify(name)}:${write(member, inside)}`);
  }
  return `{${members.join(',')}}`;
}
