import type { RigDifferenceAsk, RigVersion } from '../../bridge/contract.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { rigDifference } from '../../model/rig-difference.ts';
import type { RigChange } from '../../model/rig-difference.ts';
import type { Rig } from '../../model/rig.ts';
import { canonicalJson } from '../store/canonical-json.ts';
import { frozenDigest } from '../store/chain.ts';
import { toHexadecimal } from '../store/digest.ts';
import { openLaboratory } from '../store/laboratory.ts';
import type { Laboratory } from '../store/laboratory.ts';

/** Newest first; empty for a rig that the laboratory does not keep. @throws ChambersideError as `openLaboratory`. */
export function readRigVersions(path: string, name: string, now: string): RigVersion[] {
  return withLaboratory(path, now, (laboratory) => laboratory.versions('rig', name));
}

/** As `differenceOfVersions`. */
export function readRigDifference(path: string, asked: RigDifferenceAsk, now: string): RigChange[] {
  return withLaboratory(path, now, (laboratory) => differenceOfVersions(laboratory, asked));
}

/**
 * What differs between two versions of a rig of the laboratory.
 * @throws ChambersideError `configuration-invalid` where there is no such version, `record-insufficient` where one is
 *   not what was stored.
 */
export function differenceOfVersions(laboratory: Laboratory, { from, name, to }: RigDifferenceAsk): RigChange[] {
  return rigDifference(versionOf(laboratory, name, from), versionOf(laboratory, name, to));
}

function versionOf(laboratory: Laboratory, name: string, version: number): Rig {
  const where = `rig ${name}, version ${version}`;
  const found = laboratory.get('rig', name, version);
  if (found === null) {
    const what = 'The laboratory has no such version of a rig';
    throw new ChambersideError('configuration-invalid', what, where, 'Choose one that it lists.');
  }
  if (toHexadecimal(frozenDigest('rig', canonicalJson(found.content))) === found.digest) return found.content;
  const remedy = 'Take the laboratory file from a copy.';
  throw new ChambersideError('record-insufficient', 'The version is not what was stored', where, remedy);
}

function withLaboratory<Result>(path: string, now: string, work: (laboratory: Laboratory) => Result): Result {
  const laboratory = openLaboratory(path, { wallClock: () => now });
  try {
    return work(laboratory);
  } finally {
    laboratory.close();
  }
}
