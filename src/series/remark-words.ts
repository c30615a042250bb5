import type { DwellPurpose } from '../model/trial-event.ts';
import { hardWorkWatts, leastRestSeconds, littleUsableSeconds } from './remarks.ts';
import { longestUnreferencedSeconds, veryLongSeconds } from './remarks.ts';
import type { SeriesRemark } from './remarks.ts';

const places: Readonly<Record<DwellPurpose, string>> = {
  probe: 'on a probe',
  zero: 'on filtered air',
  reference: 'on the chamber reference',
  background: 'of the background',
};

/** A remark as one line for a person: what, and why it matters. */
export function remarkWords(remark: SeriesRemark): string {
  switch (remark.kind) {
    case 'not-for-rig':
      return `This rig cannot run it: ${remark.what} (${remark.where}). ${remark.remedy}`;
    case 'no-usable-air':
      return (
        `${dwells(remark.dwells)} ${places[remark.purpose]} ${remark.dwells === 1 ? 'is' : 'are'} ` +
        `too short to settle: ${remark.dwells === 1 ? 'it' : 'they'} will have no usable air.`
      );
    case 'little-usable-air':
      return (
        `${dwells(remark.dwells)} ${places[remark.purpose]} ${remark.dwells === 1 ? 'leaves' : 'leave'} ` +
        `less than ${littleUsableSeconds} s of usable air.`
      );
    case 'never-seen':
      return `No dwell sees usable air of the probe ${remark.probe}: there will be no result for it.`;
    case 'no-reference':
      return `No chamber reference before ${list(remark.exercises)}: a change of the challenge there is not seen.`;
    case 'no-zero':
      return `No zero before ${list(remark.exercises)}: drift of the zero there is not seen.`;
    case 'no-lead-in':
      return `No lead-in in ${list(remark.exercises)}: the first probe still reads the air of the rest.`;
    case 'less-than-a-movement':
      return `The usable part of a dwell is shorter than one movement in ${list(remark.exercises)}.`;
    case 'long-unreferenced':
      return (
        `Zero and challenge are not read again for more than ${longestUnreferencedSeconds / 60} min ` +
        `in ${list(remark.exercises)}: make it two exercises with a rest between them.`
      );
    case 'fixed-order':
      return 'The order of the probes is the same in every exercise: position in the exercise passes for probe.';
    case 'hard-work':
      return `More than ${hardWorkWatts} W in ${list(remark.exercises)}: few subjects can keep that up.`;
    case 'short-rest':
      return (
        `Less than ${leastRestSeconds} s of rest before ${list(remark.exercises)}, with work before and after it: ` +
        'ask whoever is responsible for the subject.'
      );
    case 'very-long':
      return (
        `${Math.round(remark.insideSeconds / 60)} min from entering to leaving with the longest entry, ` +
        `more than ${veryLongSeconds / 60} min: ` +
        'ask whoever is responsible for the subject.'
      );
  }
}

function dwells(count: number): string {
  return count === 1 ? '1 dwell' : `${count} dwells`;
}

/** Three names, then how many more. */
function list(names: readonly string[]): string {
  const shown = names.slice(0, 3).join(', ');
  return names.length > 3 ? `${shown} and ${names.length - 3} more` : shown;
}
