import { writeSync } from 'node:fs';
import { openStudyForRecording } from '../../../src/host/store/recorder.ts';
import { definition, host, recordSecond, segment, trialName } from './trial.ts';

/**
 * Records into a study as fast as it is acknowledged until it is killed: a new trial, or the unfinished one resumed.
 * Prints one line for each acknowledgement after it has come, synchronously, so that what was printed is known to
 * have been acknowledged before the end. Arguments: path of the study.
 */
const path = process.argv[2] ?? '';
const study = await openStudyForRecording({ path, create: { studyName: 'killed' }, hostId: host });
const unfinished = (await study.unfinishedTrials())[0];
const trial =
  unfinished === undefined
    ? await study.createTrial(definition(study.identity.study, trialName(1)))
    : await study.resumeTrial(
        unfinished.trial,
        segment(
          (unfinished.segments.at(-1)?.segment ?? -1) + 1,
          (Math.floor(unfinished.throughMicroseconds / 1e6) + 3) * 1e6,
        ),
      );
const first = unfinished === undefined ? 0 : Math.floor(unfinished.throughMicroseconds / 1e6) + 3;
trial.onAcknowledged(({ link, throughMicroseconds }) => writeSync(1, `${link} ${throughMicroseconds}\n`));
writeSync(1, `begin ${first}\n`);
for (let second = first; ; second += 1) {
  recordSecond(trial, second);
  trial.handOver((second + 1) * 1_000_000);
  if (second % 8 === 0) await trial.settled();
}
