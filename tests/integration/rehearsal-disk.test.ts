import { afterAll, afterEach, describe, expect, it, vi } from 'vitest';
import { spawn } from 'node:child_process';
import { runCommandLine } from '../../src/host/cli/main.ts';
import type { StudyRecorder } from '../../src/host/store/contract.ts';
import type * as Recorder from '../../src/host/store/recorder.ts';
import { listUnfinishedTrials } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { chamberside, chambersideWords, temporaryFolder } from '../support/command-line.ts';
import type { PrintedRehearsal } from '../support/rehearsal.ts';

const opened = vi.hoisted(() => ({ study: null as StudyRecorder | null }));

// The writer is the real one; only the way to its page limit is kept, because a disk cannot be filled in a test.
vi.mock('../../src/host/store/recorder.ts', async (original) => {
  const { openStudyForRecording } = await original<typeof Recorder>();
  return {
    async openStudyForRecording(options: Parameters<typeof openStudyForRecording>[0]) {
      opened.study = await openStudyForRecording(options);
      return opened.study;
    },
  };
});

const folder = temporaryFolder();
afterEach(() => {
  opened.study = null;
});
afterAll(() => folder.clear());

describe('a disk that gives out while a rehearsal runs', () => {
  it('full: ends it with code, file and remedy, keeps what was acknowledged, and is gone on with', async () => {
    const study = folder.file('full.chamberside');
    const notes: string[] = [];
    let acknowledged = 0;
    const status = await runCommandLine(
      ['rehearse', '--study', study, '--scenario', 'short', '--speed', '200', '--progress'],
      {
        interactive: false,
        line: () => undefined,
        note(text) {
          notes.push(text);
          if (!text.startsWith('{')) return;
          acknowledged = (JSON.parse(text) as { link: number }).link;
          // It may be closing by then.
          if (acknowledged >= 20) opened.study?.limitFilePages(1).catch(() => undefined);
        },
      },
    );
    expect(status).toBe(1);
    expect(notes.at(-1)).toBe(
      `disk-full: the record could not be written for 10 s: The disk is full (${study}). ` +
        'Free some space, then go on with it: --resume.',
    );
    expect(listUnfinishedTrials(study)[0]?.lastLink).toBeGreaterThanOrEqual(acknowledged);
    expect(verify(study).intact).toBe(true);
    // Early in a short series an interruption doubts every cell, so the status is not held to anything here.
    const { stdout } = await chamberside('rehearse', '--study', study, '--resume', '--json');
    const resumed = JSON.parse(stdout) as PrintedRehearsal;
    expect(resumed.counts.links).toBeGreaterThan(acknowledged);
    expect(verify(study).trials).toEqual([expect.objectContaining({ sealed: true })]);
  }, 60_000);

  it('refusing to write: ends it as a failure of the disk and not of the program', async () => {
    const study = folder.file('refused.chamberside');
    const words = chambersideWords(['rehearse', '--study', study, '--scenario', 'short', '--json']);
    // Files may grow to 256 kB, and the signal that would end the process at that size is ignored.
    const shell = spawn('bash', ['-c', 'trap "" XFSZ; ulimit -f 256; exec "$0" "$@"', process.execPath, ...words], {
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    let said = '';
    shell.stderr.setEncoding('utf8').on('data', (text: string) => {
      said += text;
    });
    const status = await new Promise((resolve) => shell.once('close', resolve));
    expect(status).toBe(1);
    expect(said).toMatch(/^commit-failed: .*The disk refuses.*\(.*refused\.[^)]*\)\. Check the disk/);
  }, 60_000);

  it('a place that cannot be written at all: says so before anything', async () => {
    const notes: string[] = [];
    const status = await runCommandLine(['rehearse', '--study', '/proc/study.chamberside', '--scenario', 'short'], {
      interactive: false,
      line: () => undefined,
      note: (text) => notes.push(text),
    });
    expect(status).toBe(1);
    expect(notes).toEqual([expect.stringContaining('commit-failed: The file or its folder is read-only (/proc/study')]);
  });
});
