/** Numbers in registers of 16 bits. A number of 32 bits takes two, and instruments differ in which comes first. */

export const registerTypes = ['uint16', 'int16', 'uint32', 'int32', 'float32'] as const;
export type RegisterType = (typeof registerTypes)[number];

/** `high-first`: the register with the sign comes first, at the lower address. */
export type WordOrder = 'high-first' | 'low-first';

/** Registers that a number takes. */
export const registersOf = (type: RegisterType): 1 | 2 => (type === 'uint16' || type === 'int16' ? 1 : 2);

/** The number in these registers, `registersOf(type)` of them. A float32 may be no finite number. */
export function numberInRegisters(registers: readonly number[], type: RegisterType, order: WordOrder): number {
  const [first = 0, second = 0] = registers;
  const view = new DataView(new ArrayBuffer(4));
  if (registersOf(type) === 1) {
    view.setUint16(0, first);
    return type === 'int16' ? view.getInt16(0) : view.getUint16(0);
  }
  view.setUint16(0, order === 'high-first' ? first : second);
  view.setUint16(2, order === 'high-first' ? second : first);
  if (type === 'float32') return view.getFloat32(0);
  return type === 'int32' ? view.getInt32(0) : view.getUint32(0);
}

/** Registers that hold a number; whole types round and are held within what they can say. */
export function registersOfNumber(value: number, type: RegisterType, order: WordOrder): number[] {
  const view = new DataView(new ArrayBuffer(4));
  const within = (low: number, high: number): number => Math.min(high, Math.max(low, Math.round(value)));
  switch (type) {
    case 'uint16':
      return [within(0, 0xffff)];
    case 'int16':
      view.setInt16(0, within(-0x8000, 0x7fff));
      return [view.getUint16(0)];
    case 'uint32':
      view.setUint32(0, within(0, 0xffff_ffff));
      break;
    case 'int32':
      view.setInt32(0, within(-0x8000_0000, 0x7fff_ffff));
      break;
    case 'float32':
      view.setFloat32(0, value);
      break;
  }
  const words = [view.getUint16(0), view.getUint16(2)];
  return order === 'high-first' ? words : words.reverse();
}
