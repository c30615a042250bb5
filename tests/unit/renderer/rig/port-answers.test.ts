import { describe, expect, it } from 'vitest';
import { answersNow, identityToTake, isToldApart, withAnswers } from '../../../../renderer/rig/port-answers.ts';
import type { AskedPort, OfferedPort, OfferedPorts } from '../../../../src/bridge/ports.ts';

const nothing = { byId: null, vendorId: null, productId: null, serialNumber: null, manufacturer: null, usedBy: null };
const port = (path: string, of: Partial<OfferedPort> = {}): OfferedPort => ({ ...nothing, path, ...of });
const ask = { kind: 'photometer', dialect: 'multimeter-scpi', settings: {}, baudRate: 9600 };
const answer = (path: string, told: string | null): AskedPort => ({ path, answer: 'recognised', told, detail: '' });

describe('answers at ports', () => {
  const offered: OfferedPorts = { ports: [port('/dev/a'), port('/dev/b')], note: null };
  const kept = withAnswers(null, ask, offered, [answer('/dev/a', '17')]);

  it('hold for the question and the ports of that moment, and are added to', () => {
    expect(answersNow(kept, { ...ask }, offered).get('/dev/a')?.told).toBe('17');
    const both = withAnswers(kept, ask, offered, [answer('/dev/b', '18')]);
    expect([...answersNow(both, ask, offered).keys()]).toEqual(['/dev/a', '/dev/b']);
  });

  it('are gone after another look, at another speed and under other settings', () => {
    expect(answersNow(kept, ask, { ...offered }).size).toBe(0);
    expect(answersNow(kept, { ...ask, baudRate: 4800 }, offered).size).toBe(0);
    expect(answersNow(kept, { ...ask, settings: { nplc: 1 } }, offered).size).toBe(0);
    expect(answersNow(kept, null, offered).size).toBe(0);
    const again = withAnswers(kept, ask, { ...offered }, [answer('/dev/b', '18')]);
    expect([...again.byPath.keys()]).toEqual(['/dev/b']);
  });
});

describe('a port that is taken', () => {
  const twin = { vendorId: '1a86', productId: '7523' };
  const [one, two] = [port('/dev/a', { ...twin, byId: 'usb-twin' }), port('/dev/b', twin)];
  const known = port('/dev/c', { vendorId: '0403', productId: '6001', serialNumber: 'S1' });

  it('is remembered by name only where neither machine nor instrument tells it from another', () => {
    const ports = [one, two, known];
    expect(identityToTake(one, ports, null)).toBeNull();
    expect(identityToTake(two, ports, null)).toBeNull();
    expect(identityToTake(two, ports, '17')).toMatchObject({ ...twin, told: '17' });
    expect(identityToTake(known, ports, null)).toMatchObject({ serialNumber: 'S1', told: null });
    expect(identityToTake(one, [one, known], null)).toMatchObject(twin);
    const apart = [one, two, known, port('/dev/d')].map((each) => isToldApart(each, ports));
    expect(apart).toEqual([false, false, true, false]);
  });
});
