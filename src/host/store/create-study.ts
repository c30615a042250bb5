import { randomBytes } from 'node:crypto';
import { makeIdentifier } from '../../model/identity.ts';
import { studyDigest } from './chain.ts';
import type { StudyIdentity } from './contract.ts';
import { createDatabase } from './database.ts';

/** Creates an empty study file. @throws as `createDatabase`. */
export function createStudy(path: string, studyName: string, now: string): StudyIdentity {
  const study = makeIdentifier('study', randomBytes(12));
  const genesis = studyDigest(study, studyName, now);
  createDatabase('study', path, (connection) => {
    connection
      .prepare(
        `INSERT INTO study (only, study, name, created_at, genesis, seal_count, seal_head)
         VALUES (1, ?, ?, ?, ?, 0, ?)`,
      )
      .run(study, studyName, now, genesis, genesis);
  });
  return { study, name: studyName, createdAt: now };
}
