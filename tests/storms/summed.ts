import type { StormVerdict } from './judge-storm.ts';

/** What many storms come to. */
export function summed(verdicts: readonly StormVerdict[]) {
  const total = (of: (verdict: StormVerdict) => number): number => verdicts.reduce((sum, one) => sum + of(one), 0);
  const kinds = new Set(verdicts.flatMap(({ faults }) => faults.map((text) => text.replace(/^[^{]*/, ''))).map(kindOf));
  return {
    storms: verdicts.length,
    broken: verdicts.filter(({ broken }) => broken.length > 0).length,
    givenUp: verdicts.filter(({ ended }) => ended === 'given up').length,
    faults: total(({ faults }) => faults.length),
    faultKinds: kinds.size,
    commitFailures: total(({ commitFailures }) => commitFailures),
    cells: total(({ cells }) => cells),
    flagged: total(({ flagged }) => flagged),
    compared: total(({ compared }) => compared),
    coveredPercent: percent(
      total(({ covered }) => covered),
      total(({ compared }) => compared),
    ),
    untouched: total(({ untouched }) => untouched),
    untouchedFlagged: total(({ untouchedFlagged }) => untouchedFlagged),
  };
}

function kindOf(text: string): string {
  const fault = JSON.parse(text) as { fault: string; wire?: { fault: string }; behaviour?: string; failure?: string };
  return [fault.fault, fault.wire?.fault, fault.behaviour, fault.failure].filter(Boolean).join(' ');
}

const percent = (part: number, whole: number): number => (whole === 0 ? 0 : Math.round((1000 * part) / whole) / 10);
