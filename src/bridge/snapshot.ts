import { z } from 'zod';
import { portIdentitySchema } from '../device/port-identity.ts';
import { supportingCertificateSchema } from '../model/certificate.ts';
import { identifierSchema, slugSchema } from '../model/identity.ts';
import { rigSchema } from '../model/rig.ts';
import { streamDescriptorSchema } from '../model/stream.ts';
import { microsecondsSchema } from '../model/time.ts';
import { checkStateSchema } from './checks.ts';
import { trialSnapshotSchema } from './trial-snapshot.ts';
import { captureStateSchema } from './wire.ts';

/** What a person at the rig may be. The PIN never crosses the bridge towards a window. */
export const roleSchema = z.enum(['operator', 'technician', 'reviewer']);
export type Role = z.infer<typeof roleSchema>;

export const personSchema = z.object({
  person: identifierSchema,
  code: z.string(),
  name: z.string(),
  roles: z.array(roleSchema),
});
export type PersonView = z.infer<typeof personSchema>;

/** A refusal or failure as it is shown: what, where, what to do. `code` is one of `errorCodes`. */
export const failureSchema = z.object({
  code: z.string(),
  what: z.string(),
  where: z.string(),
  remedy: z.string(),
});
export type Failure = z.infer<typeof failureSchema>;

/** How a trial stands in its study. `interrupted`: not sealed, and not the one under way in this host. */
export const trialStandingSchema = z.enum(['under-way', 'interrupted', 'closed', 'sealed', 'assessed']);
export type TrialStanding = z.infer<typeof trialStandingSchema>;

export const trialRowSchema = z.object({
  trial: identifierSchema,
  subject: z.string(),
  ensemble: z.string(),
  operator: z.string(),
  virtual: z.boolean(),
  /** Wall clock, ISO 8601 in UTC. */
  createdAt: z.string(),
  standing: trialStandingSchema,
  /** By whom and why it was made void; null where it is not. */
  voided: z.object({ person: z.string(), reason: z.string() }).nullable(),
  /** End of what is safely on disk, seconds of trial time. */
  recordedSeconds: z.number(),
  /** Cells of the assessment that counts: all, and those that are flagged; null while there is none. */
  cells: z.object({ all: z.number().int(), flagged: z.number().int() }).nullable(),
});
export type TrialRow = z.infer<typeof trialRowSchema>;

/** A study file in the folder of the host. `study` is null when the file cannot be read; `failure` then says why. */
export const studyRowSchema = z.object({
  /** Name of the file inside the folder; it is what procedures call the study by. */
  file: z.string(),
  study: identifierSchema.nullable(),
  name: z.string(),
  createdAt: z.string().nullable(),
  trials: z.array(trialRowSchema),
  failure: failureSchema.nullable(),
});
export type StudyRow = z.infer<typeof studyRowSchema>;

/** Where an instrument is connected, as a person would type it. */
export const connectionSettingsSchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('serial'),
    path: z.string().min(1),
    baudRate: z.number().int().min(50).max(4_000_000),
    /** By what it is found again when it has another name; absent: it is the port of this name, whatever is there. */
    identity: portIdentitySchema.optional(),
  }),
  z.object({ kind: z.literal('tcp'), host: z.string().min(1), port: z.number().int().min(1).max(65_535) }),
]);
export type ConnectionSettings = z.infer<typeof connectionSettingsSchema>;

/** An instrument as it is now. The newest value travels on the sample channel, not here. */
export const instrumentStateSchema = z.object({
  instrument: slugSchema,
  kind: slugSchema,
  dialect: slugSchema,
  /** `connecting` until a first try has failed, `unreached` until one succeeds. */
  state: z.enum(['unconnected', 'connecting', 'unreached', 'live', 'silent', 'lost']),
  /** The transport's label, `serial /dev/ttyUSB0 at 115200`; null while there is none. */
  connection: z.string().nullable(),
  /** Where the laboratory says that it is; null when nobody has said, and for instruments of the virtual rig. */
  settings: connectionSettingsSchema.nullable(),
  /** Why it is not live, in words; null when it is. */
  detail: z.string().nullable(),
  /** What a person should know of it under its settings, each a sentence. */
  remarks: z.array(z.string()),
  /** How often it has come back since the rig was opened. */
  reconnects: z.number().int(),
  readings: z.number().int(),
  problems: z.number().int(),
  /** The newest capture of its wire since the rig was opened; null when there was none. */
  capture: captureStateSchema.nullable(),
});
export type InstrumentState = z.infer<typeof instrumentStateSchema>;

/** The valve as the program knows it: what was asked for, and what the valve said. */
export const valveStateSchema = z.object({
  requestedPort: z.number().int().nullable(),
  confirmedPort: z.number().int().nullable(),
  state: z.enum(['unknown', 'moving', 'confirmed', 'unconfirmed']),
  /** From request to acknowledgement, last time, ms. */
  answerMilliseconds: z.number().nullable(),
});
export type ValveState = z.infer<typeof valveStateSchema>;

/** The rig that is open in the host, or why none is. */
export const rigStateSchema = z.object({
  /** `closing` until every port has been given back. */
  state: z.enum(['closed', 'opening', 'open', 'failed', 'closing']),
  failure: failureSchema.nullable(),
  /** What is opened, also while opening; null when closed. */
  rig: rigSchema.nullable(),
  /** Index in this list is the stream's index on the sample channel. */
  streams: z.array(streamDescriptorSchema),
  instruments: z.array(instrumentStateSchema),
  valve: valveStateSchema,
  checks: checkStateSchema,
  /** Certificates of what works in it that have ended or are missing: a trial would carry them. */
  doubtfulCertificates: z.array(supportingCertificateSchema),
  /** The process behind a virtual rig; null for a rig of instruments. */
  virtualRig: z
    .object({ scenario: z.string(), seed: z.number().int(), processId: z.number().int().nullable() })
    .nullable(),
});
export type RigState = z.infer<typeof rigStateSchema>;

/** By what the person must do: act now, look soon, know at the next rest. */
export const alarmPrioritySchema = z.enum(['high', 'medium', 'low']);
export type AlarmPriority = z.infer<typeof alarmPrioritySchema>;

/** An alarm that stands, or has stood and was not acknowledged. In the order of the alarm row. */
export const alarmViewSchema = z.object({
  alarm: slugSchema,
  /** What it says first, where the rig or the plan names it; null: the renderer has the words. */
  title: z.string().nullable(),
  instrument: slugSchema.nullable(),
  priority: alarmPrioritySchema,
  /** How far over which limit, for how long. The renderer has the headline by `alarm`. */
  detail: z.string(),
  /** What to do now. */
  action: z.string(),
  /** Wall clock of raising, ISO 8601 in UTC. */
  raisedAt: z.string(),
  /** Seconds for which the cause has lasted when it had gone; null while it stands. */
  lastedSeconds: z.number().nullable(),
  acknowledged: z.boolean(),
});
export type AlarmView = z.infer<typeof alarmViewSchema>;

/** A series, a rig or an ensemble that the planner can offer. */
export const seriesOfferSchema = z.object({
  /** Name and version are what `trial.plan` asks for. */
  name: z.string(),
  version: z.number().int(),
  source: z.string(),
  exercises: z.number().int(),
  durationSeconds: z.number(),
});

/** What is safe on disk and what is not yet. Null while nothing is recorded. */
export const recordStateSchema = z.object({
  /** Age of the oldest data not on disk yet, s. */
  uncommittedSeconds: z.number(),
  /** Newest refusal of the disk, until a commit succeeds. */
  failure: failureSchema.nullable(),
});

/** The host asks for something that only a person can decide. */
export const hostStateSchema = z.object({
  hostId: identifierSchema,
  program: z.string(),
  /** Wall clock, ISO 8601 in UTC. */
  startedAt: z.string(),
  /** Folder with the study files and the laboratory file, as a person knows it. */
  folder: z.string(),
  freeBytes: z.number().nullable(),
  windows: z.number().int(),
  /** Displays of the subject that are open; not counted in `windows`. */
  subjectDisplays: z.number().int(),
});

/**
 * A recorded trial that is played back: what a window would have seen of it at that moment. While one is open no rig
 * is, and the time and the samples of the sample channel are those of the replay.
 */
export const replaySnapshotSchema = z.object({
  file: z.string(),
  trial: identifierSchema,
  /** False when it stands: paused, or at its end. */
  playing: z.boolean(),
  speed: z.number().positive(),
  /** Trial time that is shown, µs, and the last one of the record. */
  atMicroseconds: microsecondsSchema,
  endsAtMicroseconds: microsecondsSchema,
  /** The trial as of that moment. Nothing is allowed in it. */
  view: trialSnapshotSchema,
  /** The rig as the record knows it. */
  rig: rigStateSchema,
  /** Alarms as they stood, with nobody to acknowledge them. */
  alarms: z.array(alarmViewSchema),
});
export type ReplaySnapshot = z.infer<typeof replaySnapshotSchema>;

/**
 * Everything that a window shows besides samples, as of one moment. Versions ascend by at least one; a window that
 * missed some needs only the newest.
 */
export const snapshotSchema = z.object({
  version: z.number().int().nonnegative(),
  host: hostStateSchema,
  /** Who is at the rig; null when nobody has said so. */
  person: personSchema.nullable(),
  people: z.array(personSchema),
  studies: z.array(studyRowSchema),
  /** Rigs that the laboratory file holds, newest version of each. */
  rigs: z.array(z.object({ name: z.string(), version: z.number().int(), virtual: z.boolean() })),
  series: z.array(seriesOfferSchema),
  /** Scenarios of the virtual rig that come with the program. */
  scenarios: z.array(z.object({ scenario: z.string(), label: z.string(), durationSeconds: z.number() })),
  rig: rigStateSchema,
  trial: trialSnapshotSchema.nullable(),
  alarms: z.array(alarmViewSchema),
  /** How many limits are watched now, silence of streams included. */
  limitsWatched: z.number().int(),
  record: recordStateSchema.nullable(),
  /** A recorded trial that is played back; never while a trial is under way or a rig is open. */
  replay: replaySnapshotSchema.nullable(),
});
export type Snapshot = z.infer<typeof snapshotSchema>;
