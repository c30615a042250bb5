import { expect, it } from 'vitest';
import { wallTimeIn } from '../../../src/host/clock/wall-time.ts';
import type { Signature } from '../../../src/model/signature.ts';
import type { AuditedTrial } from '../../../src/study/audit.ts';
import { auditTrail } from '../../../src/study/audit.ts';
import { segment } from '../../support/store/trial.ts';

const signed = (step: Signature['step'], person: string, createdAt: string): Signature => ({
  form: 'chamberside signature 1',
  ...{ study: 's-000000000001', number: 1, previous: '0'.repeat(64), trial: 't-000000000001', rehearsal: true },
  ...{ trialHead: '0'.repeat(64), seal: { number: 1, digest: '0'.repeat(64) }, assessment: 'a-000000000001' },
  ...{ assessmentDigest: '0'.repeat(64), assessmentProgram: '0.1.0' },
  method: { name: 'first', version: 1, digest: '0'.repeat(64) },
  voidings: { count: 0, digest: '0'.repeat(64) },
  ...{ step, restsOn: null, person, reason: 'as agreed', program: '0.1.0', createdAt, key: null },
});

it('an audit trail tells what people did in the order of time, with code and reason, and leaves the rest out', () => {
  const trials: AuditedTrial[] = [
    {
      ...{ trial: 't-000000000001', createdAt: '2026-01-05T07:59:00.000Z', operator: 'anna', subject: 'S1' },
      ...{ ensemble: 'E1', virtual: true },
      segments: [segment(0), { ...segment(1, 60_000_000), wallAnchor: '2026-01-05T09:00:00.000Z' }],
      events: [
        { kind: 'operator-action', atMicroseconds: 2_500_000, action: 'hold', person: 'anna', note: 'hose' },
        { kind: 'port-requested', atMicroseconds: 3_000_000, dwell: 1, port: 2 },
        { kind: 'mark-noted', atMicroseconds: 61_000_000, person: 'otto', note: 'creaks' },
      ],
      sealedAt: '2026-01-05T09:30:00.000Z',
      assessments: [
        { assessment: 'a-000000000001', createdAt: '2026-01-05T09:31:00.000Z', method: { name: 'first', version: 1 } },
      ],
      voidings: [],
      signatures: [
        signed('assessed', 'anna', '2026-01-06T08:00:00.000Z'),
        signed('withdrawn', 'rita', '2026-01-06T08:00:00.000Z'),
      ],
    },
    {
      ...{ trial: 't-000000000002', createdAt: '2026-01-05T09:00:30.000Z', operator: 'kim', subject: 'S2' },
      ...{ ensemble: 'E1', virtual: true, segments: [], events: [], sealedAt: null, assessments: [], signatures: [] },
      voidings: [],
    },
  ];
  const entries = auditTrail(trials, wallTimeIn);
  expect(entries.map(({ action, at, persons, reason }) => [at.slice(11, 21), action, persons.join(), reason])).toEqual([
    ['07:59:00.0', 'prepared', 'anna', ''],
    ['08:00:02.5', 'hold', 'anna', 'hose'],
    ['09:00:01.0', 'mark-noted', 'otto', 'creaks'],
    ['09:00:30.0', 'prepared', 'kim', ''],
    ['09:30:00.0', 'sealed', '', ''],
    ['09:31:00.0', 'computed', '', ''],
    ['08:00:00.0', 'assessed', 'anna', 'as agreed'],
    ['08:00:00.0', 'signature-taken-back', 'rita', 'as agreed'],
  ]);
});
