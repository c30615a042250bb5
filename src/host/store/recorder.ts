import { ChambersideError } from '../../model/error-code.ts';
import type { Identifier } from '../../model/identity.ts';
import type { TimeSegment } from '../../model/time.ts';
import type {
  CommitFailure,
  NewAssessment,
  NewSignature,
  NewVoiding,
  OpenStudyOptions,
  StoredAssessment,
  StoredSignature,
  StudyIdentity,
  StudyRecorder,
  TrialDefinition,
  TrialRecorder,
  UnfinishedTrial,
} from './contract.ts';
import type { Voiding } from '../../model/voiding.ts';
import type { TrialPosition } from './protocol.ts';
import { OpenTrial } from './open-trial.ts';
import { WriterPort } from './writer-port.ts';

const restartMilliseconds = 500;

/**
 * Opens a study for recording, in a writer worker of its own.
 * @throws ChambersideError `file-not-found`, `file-not-ours`, `file-newer`, `file-damaged`, `file-on-network`,
 *   `study-in-use`.
 */
export async function openStudyForRecording(options: OpenStudyOptions): Promise<StudyRecorder> {
  const recorder = new Recorder(options);
  await recorder.open();
  return recorder;
}

class Recorder implements StudyRecorder {
  #path: string;
  readonly #options: OpenStudyOptions;
  readonly #now: () => string;
  readonly #trials = new Map<Identifier, OpenTrial>();
  #writer: WriterPort;
  #identity: StudyIdentity | null = null;
  #created = false;
  #closing = false;
  #restart: NodeJS.Timeout | null = null;
  /**
   * The writer has the study open and everything older than what comes next. Until then links only wait with their
   * trial: a newer one must not reach the writer before those that it has to follow.
   */
  #ready = false;
  #opening: Promise<void> | null = null;

  constructor(options: OpenStudyOptions) {
    this.#path = options.path;
    this.#options = options;
    this.#now = options.wallClock ?? (() => new Date().toISOString());
    this.#writer = this.#startWriter();
  }

  get path(): string {
    return this.#path;
  }

  get identity(): StudyIdentity {
    if (this.#identity === null)
      throw new ChambersideError('internal', 'The study is not open', this.path, 'Open it first.');
    return this.#identity;
  }

  get created(): boolean {
    return this.#created;
  }

  async open(): Promise<void> {
    try {
      const { path, hostId, create } = this.#options;
      const answer = await this.#writer.ask('open', { path, studyName: create?.studyName ?? null, hostId });
      this.#identity = answer.identity;
      this.#created = answer.created;
      this.#ready = true;
    } catch (error) {
      this.#closing = true;
      await this.#writer.end();
      throw error;
    }
  }

  async createTrial(definition: TrialDefinition): Promise<TrialRecorder> {
    const position = await this.#writer.ask('create', { definition });
    return this.#begin(position, definition.segment);
  }

  async resumeTrial(trial: Identifier, segment: TimeSegment): Promise<TrialRecorder> {
    if (this.#trials.has(trial)) {
      throw new ChambersideError(
        'configuration-invalid',
        'The trial is being recorded',
        trial,
        'Abandon it before resuming it.',
      );
    }
    const position = await this.#writer.ask('resume', { trial, segment });
    return this.#begin(position, segment);
  }

  unfinishedTrials(): Promise<UnfinishedTrial[]> {
    return this.#writer.ask('unfinished', {});
  }

  storeAssessment(assessment: NewAssessment): Promise<StoredAssessment> {
    return this.#writer.ask('assess', { assessment });
  }

  storeSignature(signature: NewSignature): Promise<StoredSignature> {
    return this.#writer.ask('sign', { signature });
  }

  storeVoiding(voiding: NewVoiding): Promise<Voiding> {
    return this.#writer.ask('void', { voiding });
  }

  async limitFilePages(pages: number | null): Promise<void> {
    await this.#writer.ask('limit', { pages });
  }

  async close(): Promise<void> {
    if (this.#closing) return;
    this.#closing = true;
    if (this.#restart !== null) clearTimeout(this.#restart);
    this.#restart = null;
    for (const trial of this.#trials.values()) trial.closeOpen();
    try {
      await this.#closeWriter();
    } finally {
      await this.#writer.end();
      const closed = new ChambersideError(
        'commit-failed',
        'The study was closed',
        this.path,
        'Open it and resume the trial.',
      );
      for (const trial of this.#trials.values()) trial.fail(closed);
      this.#trials.clear();
    }
  }

  /** What is in memory only gets one more writer before the study is given up. */
  async #closeWriter(): Promise<void> {
    if (this.#ready) {
      try {
        await this.#writer.ask('close', {});
        return;
      } catch (error) {
        // A writer that is alive has said why; one that died in between may be replaced.
        if (this.#ready || this.#waitingLinks() === 0) throw error;
      }
    }
    await this.#opening?.catch(() => undefined);
    if (!this.#ready) await this.#openAgain();
    await this.#writer.ask('close', {});
  }

  #begin(position: TrialPosition, segment: TimeSegment): TrialRecorder {
    const trial = new OpenTrial(position, segment, {
      links: (links) => {
        if (this.#ready) this.#writer.links(position.trial, links);
      },
      seal: () => this.#writer.ask('seal', { trial: position.trial }),
      ended: () => this.#trials.delete(position.trial),
    });
    this.#trials.set(position.trial, trial);
    return trial;
  }

  #startWriter(): WriterPort {
    const writer: WriterPort = new WriterPort(
      {
        committed: (trial, link, through) => this.#trials.get(trial)?.committed(link, through),
        failed: (error, waitingLinks) => this.#report(error, waitingLinks),
        moved: (path) => {
          this.#path = path;
        },
        lost: (reason) => {
          if (writer !== this.#writer) return;
          this.#ready = false;
          if (this.#closing || this.#identity === null) return;
          this.#report(
            new ChambersideError('commit-failed', reason, this.path, 'It is started again.'),
            this.#waitingLinks(),
          );
          this.#restartSoon();
        },
      },
      this.#now,
    );
    return writer;
  }

  #waitingLinks(): number {
    return [...this.#trials.values()].reduce((sum, trial) => sum + trial.waiting, 0);
  }

  /** One restart at a time, whoever asks for it. */
  #restartSoon(): void {
    if (this.#restart !== null || this.#opening !== null || this.#closing) return;
    this.#restart = setTimeout(() => {
      this.#restart = null;
      void this.#reopen();
    }, restartMilliseconds);
  }

  async #reopen(): Promise<void> {
    try {
      await this.#openAgain();
    } catch (error) {
      this.#report(error as ChambersideError, this.#waitingLinks());
    }
    if (!this.#ready) this.#restartSoon();
  }

  /** A new worker gets everything that is not acknowledged; what was committed after all is passed over. */
  async #openAgain(): Promise<void> {
    const writer = this.#startWriter();
    this.#writer = writer;
    const opening = (async (): Promise<void> => {
      try {
        const { identity } = await writer.ask('open', {
          ...{ path: this.path, studyName: null, hostId: this.#options.hostId },
        });
        if (identity.study !== this.identity.study) {
          await writer.ask('close', {});
          throw otherStudy(this.path);
        }
      } catch (error) {
        await writer.end();
        throw error;
      }
      // Without a wait in between, so that nothing newer can come first.
      this.#ready = true;
      for (const trial of this.#trials.values()) trial.handOverAgain();
    })();
    this.#opening = opening;
    try {
      await opening;
    } finally {
      this.#opening = null;
    }
  }

  #report(error: ChambersideError, waitingLinks: number): void {
    const code: CommitFailure['code'] = error.code === 'disk-full' ? 'disk-full' : 'commit-failed';
    this.#options.onFailure?.({ code, what: error.what, remedy: error.remedy, waitingLinks });
  }
}

function otherStudy(path: string): ChambersideError {
  return new ChambersideError(
    'commit-failed',
    'Another study stands in the place of the one that is recorded',
    path,
    'Move that file away, and put the study back.',
  );
}
