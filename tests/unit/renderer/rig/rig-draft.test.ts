import { describe, expect, it } from 'vitest';
import type { ConnectionSettings } from '../../../../src/bridge/snapshot.ts';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import {
  anotherPort,
  connectionDraft,
  readConnection,
  readRigDraft,
  rigDraft,
} from '../../../../renderer/rig/rig-draft.ts';
import type { RigDraft } from '../../../../renderer/rig/rig-draft.ts';
import { readNumber } from '../../../../renderer/ui/read-number.ts';
import type { Rig } from '../../../../src/model/rig.ts';

const rig: Rig = { ...demo.rig, virtual: false };
const draft = rigDraft(rig, new Map());

function withPort(index: number, change: Partial<RigDraft['ports'][number]>): RigDraft {
  return { ...draft, ports: draft.ports.map((port, at) => (at === index ? { ...port, ...change } : port)) };
}

describe('a rig as a form', () => {
  it('comes back from the form as it went in', () => {
    const read = readRigDraft(draft);
    expect([...read.problems]).toEqual([]);
    expect(read.rig).toEqual(rig);
  });

  it('is virtual when the person says so, and not otherwise', () => {
    expect(draft.virtual).toBe(false);
    expect(readRigDraft({ ...draft, virtual: true }).rig).toEqual({ ...rig, virtual: true });
    const marked = rigDraft({ ...rig, virtual: true }, new Map());
    expect(marked.virtual).toBe(true);
    expect(readRigDraft({ ...marked, virtual: false }).rig?.virtual).toBe(false);
  });

  it('says what is guarded only when somebody has said it', () => {
    expect(draft.guard).toEqual({ load: true, valve: false });
    expect(readRigDraft(draft).rig?.guard).toBeUndefined();
    const valve = { load: true, valve: true };
    expect(readRigDraft({ ...draft, guard: valve }).rig?.guard).toEqual(valve);
    const said = rigDraft({ ...rig, guard: valve }, new Map());
    expect(readRigDraft({ ...said, guard: draft.guard }).rig?.guard).toEqual(draft.guard);
  });

  it('says at its field what is no number, once', () => {
    const read = readRigDraft({
      ...withPort(2, { transitSeconds: { value: 'long', standardUncertainty: '0.05' } }),
      saturation: '',
    });
    expect(read.rig).toBeNull();
    expect(Object.fromEntries(read.problems)).toEqual({
      'ports.2.transitSeconds.value': { kind: 'not-a-number' },
      saturation: { kind: 'not-a-number' },
    });
  });

  it('says at its field which limit is passed', () => {
    const read = readRigDraft(withPort(0, { port: '33', label: ' ' }));
    expect(read.problems.get('ports.0.port')).toEqual({ kind: 'most', limit: 32, inclusive: true });
    expect(read.problems.get('ports.0.label')).toEqual({ kind: 'empty' });
  });

  it('refuses at its field what no laboratory has', () => {
    const read = readRigDraft({
      ...withPort(0, {
        dilution: { value: '0.5', standardUncertainty: '0' },
        penetration: { value: '1.2', standardUncertainty: '0' },
      }),
      timeConstantSeconds: { value: '1000000000', standardUncertainty: '0' },
    });
    expect(Object.fromEntries(read.problems)).toEqual({
      'ports.0.dilution.value': { kind: 'least', limit: 1, inclusive: true },
      'ports.0.penetration.value': { kind: 'most', limit: 1, inclusive: true },
      'timeConstantSeconds.value': { kind: 'most', limit: 120, inclusive: true },
    });
  });

  it('leaves out of the rig what is not stated of a line, and says at its field what is no length', () => {
    const bare: Rig = {
      ...rig,
      lineLitresPerMinute: undefined,
      ports: rig.ports.map((port) => ({ ...port, lineMetres: undefined, boreMillimetres: undefined })),
    };
    const none = readRigDraft(rigDraft(bare, new Map()));
    expect([...none.problems]).toEqual([]);
    // As it is stored: a rig that never said anything is the same document.
    expect(JSON.stringify(none.rig)).not.toMatch(/lineMetres|boreMillimetres|lineLitresPerMinute/);
    const problem = (change: Partial<RigDraft['ports'][number]>): unknown[] => [
      ...readRigDraft(withPort(0, change)).problems.values(),
    ];
    expect(problem({ lineMetres: '0' })).toEqual([{ kind: 'least', limit: 0, inclusive: false }]);
    expect(problem({ lineMetres: '-2' })).toEqual([{ kind: 'least', limit: 0, inclusive: false }]);
    expect(problem({ boreMillimetres: 'wide' })).toEqual([{ kind: 'not-a-number' }]);
    expect(problem({ lineMetres: '2600' })).toEqual([
      { kind: 'said', text: 'this is in metres, at most 100: 2600 mm are 2.6 m' },
    ]);
    expect(problem({ boreMillimetres: '0.004' })).toEqual([
      { kind: 'said', text: 'this is in millimetres, 0.5 to 50: 0.004 m are 4 mm' },
    ]);
    expect(problem({ boreMillimetres: '400' })).toEqual([{ kind: 'said', text: 'this is in millimetres, 0.5 to 50' }]);
  });

  it('hands on what the model says of the whole rig', () => {
    const read = readRigDraft(withPort(1, { port: '1' }));
    expect(read.problems.get('ports')).toEqual({ kind: 'said', text: 'two ports have the same number' });
  });

  it.each([
    ['{ "line": ', 'not-json'],
    ['[1, 2]', 'not-an-object'],
    ['7', 'not-an-object'],
  ])('takes no settings but an object: %s', (settings, kind) => {
    const instruments = draft.instruments.map((one, at) => (at === 0 ? { ...one, settings } : one));
    const read = readRigDraft({ ...draft, instruments });
    expect(read.rig).toBeNull();
    expect(read.problems.get('instruments.0.settings')?.kind).toBe(kind);
  });

  it('collects the connections that were given and names what is wrong in one', () => {
    const serial = { kind: 'serial', path: '/dev/ttyUSB0', baudRate: 115_200 } as const;
    const known = rigDraft(rig, new Map([['photometer', serial]]));
    const instruments = known.instruments.map((one) =>
      one.instrument === 'belt'
        ? { ...one, connection: { ...one.connection, kind: 'tcp' as const, host: '', port: '70000' } }
        : one,
    );
    const read = readRigDraft({ ...known, instruments });
    expect(read.connections).toEqual(new Map([['photometer', serial]]));
    expect(read.problems.get('instruments.2.connection.host')).toEqual({ kind: 'empty' });
    expect(read.problems.get('instruments.2.connection.port')).toMatchObject({ kind: 'most', limit: 65_535 });
  });

  it('takes several instruments for a port when each of them speaks with an address', () => {
    const bus = new Map<string, ConnectionSettings>(
      rig.instruments.map(({ instrument }) => [instrument, { kind: 'serial', path: '/dev/ttyUSB0', baudRate: 9600 }]),
    );
    const [first, ...others] = rigDraft(rig, bus).instruments;
    const busDialect = (one: RigDraft['instruments'][number]) => ({ ...one, dialect: 'modbus-registers' });
    if (first === undefined) throw new Error('the demo has instruments');
    const all = { ...draft, instruments: [first, ...others].map(busDialect) };
    expect([...readRigDraft(all).problems]).toEqual([]);
    expect(readRigDraft(all).connections.size).toBe(rig.instruments.length);
    const mixed = { ...draft, instruments: [first, ...others.map(busDialect)] };
    expect([...readRigDraft(mixed).problems].map(([path]) => path)).toContain('instruments.1.connection.path');
  });

  it('takes one instrument for a port, and names the one that is there', () => {
    const serial = { kind: 'serial', path: '/dev/ttyUSB0', baudRate: 9_600 } as const;
    const tcp = { kind: 'tcp', host: 'localhost', port: 4001 } as const;
    const problemsOf = (belt: ConnectionSettings): string[] => [
      ...readRigDraft(
        rigDraft(
          rig,
          new Map<string, ConnectionSettings>([
            ['photometer', serial],
            [rig.selectorValve, tcp],
            ['belt', belt],
          ]),
        ),
      ).problems,
    ].map(([path, problem]) => `${path} ${'instrument' in problem ? problem.instrument : problem.kind}`);
    expect(problemsOf({ ...serial, baudRate: 115_200 })).toEqual(['instruments.2.connection.path photometer']);
    expect(problemsOf(tcp)).toEqual([`instruments.2.connection.port ${rig.selectorValve}`]);
    expect(problemsOf({ ...tcp, port: 4002 })).toEqual([]);
    expect(problemsOf({ ...serial, path: '/dev/ttyUSB1' })).toEqual([]);
  });

  it('keeps by what a port is found again, and tells two of one old name apart by it', () => {
    const identity = { byId: null, vendorId: '0403', productId: '6001', serialNumber: 'S1', told: null };
    const serial = { kind: 'serial', path: '/dev/ttyUSB0', baudRate: 9_600, identity } as const;
    expect(readConnection(connectionDraft(serial)).settings).toEqual(serial);
    const both = (second: ConnectionSettings): string[] => [
      ...readRigDraft(rigDraft(rig, new Map<string, ConnectionSettings>([['photometer', serial], ['belt', second]])))
        .problems.keys(),
    ];
    expect(both({ ...serial, identity: { ...identity, serialNumber: 'S2' } })).toEqual([]);
    expect(both({ ...serial, path: '/dev/ttyUSB7' })).toEqual(['instruments.2.connection.path']);
  });

  it('offers the first port number that is free', () => {
    expect(anotherPort(draft.ports.filter(({ port }) => port !== '4')).port).toBe('4');
    expect(anotherPort(draft.ports).port).toBe('9');
  });
});

describe('a connection as a form', () => {
  it('comes back as it went in, of either kind', () => {
    for (const settings of [
      { kind: 'serial', path: 'COM4', baudRate: 9600 },
      { kind: 'tcp', host: '10.0.4.20', port: 5020 },
    ] as const) {
      expect(readConnection(connectionDraft(settings)).settings).toEqual(settings);
    }
  });

  it('takes no fraction of a baud', () => {
    const read = readConnection({ ...connectionDraft(null), kind: 'serial', path: 'COM4', baudRate: '9600.5' });
    expect(read.settings).toBeNull();
    expect(read.problems.get('baudRate')).toEqual({ kind: 'not-whole' });
  });
});

describe('a number as people type it', () => {
  it.each([
    ['1.5', 1.5],
    [' 1,5 ', 1.5],
    ['−3', -3],
    ['1e-3', 0.001],
    ['.5', 0.5],
    ['', null],
    ['1.2.3', null],
    ['0x10', null],
    ['1e999', null],
    ['12 s', null],
  ])('%j is %j', (text, value) => {
    expect(readNumber(text)).toBe(value);
  });
});
