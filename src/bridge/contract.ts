import { eventIterator, oc } from '@orpc/contract';
import { z } from 'zod';
import { answersSchema } from '../calibration/check/step.ts';
import { differenceSchema } from '../leakage/difference.ts';
import { codeSchema, ensembleNameSchema, identifierSchema, pinSchema, slugSchema } from '../model/identity.ts';
import { heartByAgeSchema } from '../model/heart-by-age.ts';
import { rigChangeSchema } from '../model/rig-difference.ts';
import { rigSchema } from '../model/rig.ts';
import { rigEntrySchema } from '../model/rig-entry.ts';
import { seriesSchema } from '../model/series.ts';
import { seriesEntrySchema } from '../model/series-entry.ts';
import { afterItemSchema, beforeItemSchema } from '../model/trial-event.ts';
import { checkBeginningSchema, checkChoiceSchema, checkGroundSchema, keptCheckSchema } from './checks.ts';
import { askedPortSchema, lineAskSchema, lineViewSchema, offeredPortsSchema, portsAskSchema } from './ports.ts';
import { instrumentHistorySchema, registerAskSchema, registerViewSchema } from './register.ts';
import { reportFormatSchema, reportPartSchema } from './report-part.ts';
import { reviewAskSchema, signAskSchema, voidAskSchema } from './review.ts';
import { cellExplanationSchema, planPreviewSchema, trialResultSchema } from './result.ts';
import { replayChangeSchema } from './replay.ts';
import { scatterAnswerSchema } from './scatter.ts';
import { studyViewSchema, whatIfSchema } from './study.ts';
import { connectionSettingsSchema, failureSchema, personSchema, roleSchema, snapshotSchema } from './snapshot.ts';
import { captureStateSchema, wireAskSchema, wireViewSchema } from './wire.ts';

/**
 * The control half of the bridge: everything a window can ask of the host. Samples travel on a channel of their own
 * (`samples.ts`). A refusal comes as the declared error `REFUSED` with what, where and what to do.
 */
const procedure = oc.errors({ REFUSED: { data: failureSchema } });

const nothing = z.object({});
const done = z.object({});
const trialChoice = z.object({ file: z.string(), trial: identifierSchema });

export const planSchema = z.object({
  file: z.string(),
  subject: codeSchema,
  ensemble: ensembleNameSchema,
  series: z.object({ name: z.string(), version: z.number().int() }),
  /** Row of the rotation with which the first exercise begins. */
  orderOffset: z.number().int().nonnegative(),
  /** Highest heart rate allowed, per minute; null for a rig without a belt, or where the age gives one. */
  heartRateLimit: z.number().int().min(60).max(230).nullable(),
  /** A limit by age besides; the stricter of the two counts. Null: none. */
  heartByAge: heartByAgeSchema.nullable(),
  /** Leakage that the requirement allows, percent; null when there is none. */
  requirementPercent: z.number().positive().max(100).nullable(),
});
export type Plan = z.infer<typeof planSchema>;

const listedSeriesSchema = z.object({
  series: seriesSchema,
  /** What a series of the program rests on; `scenario`: of the scenario that runs; null: the laboratory's own. */
  mark: z.enum(['own', 'secondary', 'memory', 'scenario']).nullable(),
});
export type ListedSeries = z.infer<typeof listedSeriesSchema>;

export const newPersonSchema = z.object({
  code: codeSchema,
  name: z.string().min(1).max(80),
  roles: z.array(roleSchema).min(1),
  pin: pinSchema,
});
export type NewPerson = z.infer<typeof newPersonSchema>;

const rigVersionSchema = z.object({
  version: z.number().int(),
  /** ISO 8601 in UTC. */
  createdAt: z.string(),
});
export type RigVersion = z.infer<typeof rigVersionSchema>;
const rigDifferenceAskSchema = z.object({ name: z.string(), from: z.number().int(), to: z.number().int() });
export type RigDifferenceAsk = z.infer<typeof rigDifferenceAskSchema>;

export const contract = {
  /** The newest snapshot at once, then one after every change, at most twenty a second. */
  watch: procedure.input(nothing).output(eventIterator(snapshotSchema)),
  /**
   * Clocks of the host, to estimate the offset by the quickest of several calls.
   * `trialMicroseconds` is null while no trial runs.
   */
  clock: procedure
    .input(nothing)
    .output(z.object({ machineMilliseconds: z.number(), trialMicroseconds: z.number().nullable() })),

  person: {
    /** Somebody steps up to the rig; null: nobody is. */
    choose: procedure.input(z.object({ code: z.string().nullable() })).output(done),
    add: procedure.input(newPersonSchema).output(personSchema),
  },

  rig: {
    /** Starts the rig process and opens its instruments exactly as hardware. */
    startVirtual: procedure
      .input(z.object({ scenario: z.string().min(1), seed: z.number().int().nonnegative().nullable() }))
      .output(done),
    /** Opens a rig of the laboratory file by name. */
    open: procedure.input(z.object({ name: z.string() })).output(done),
    /** Refused while a trial is under way. */
    close: procedure.input(nothing).output(done),
    /** Valve by hand: between trials, and in a trial that is held. */
    selectPort: procedure.input(z.object({ port: z.number().int().min(1).max(32) })).output(done),
    /** Sets what can be set of an instrument, such as the power of an ergometer; noted in a trial under way. */
    setOutput: procedure
      .input(z.object({ instrument: slugSchema, output: slugSchema, value: z.number() }))
      .output(done),
    /** Tries a lost instrument again at once. */
    retry: procedure.input(z.object({ instrument: slugSchema })).output(done),
    /** Says where an instrument is connected from now on; kept with the laboratory, used at once. */
    connect: procedure.input(z.object({ instrument: slugSchema, settings: connectionSettingsSchema })).output(done),
    /** Ports of the machine with what it says of them. None is opened. */
    offeredPorts: procedure.input(nothing).output(offeredPortsSchema),
    /** How an instrument is recognised, and whether a line carries it. */
    line: procedure.input(lineAskSchema).output(lineViewSchema),
    /** Asks at ports that a person has chosen. Those that are in use are left alone. */
    askPorts: procedure.input(portsAskSchema).output(z.array(askedPortSchema)),
    /** Dialects that an instrument beside photometer and valve may speak. */
    dialects: procedure
      .input(nothing)
      .output(z.array(z.object({ kind: slugSchema, dialect: slugSchema, title: z.string() }))),
    /** A rig to begin with: the air path of the demo scenario, for the instruments of this laboratory. */
    template: procedure.input(nothing).output(rigSchema),
    /** Stores a new version of a rig in the laboratory. `version` of the input is ignored. */
    save: procedure
      .input(
        z.object({
          rig: rigEntrySchema,
        }),
      )
      .output(z.object({ version: z.number().int() })),
    /** Every version of a rig of the laboratory, newest first; none for a rig that it does not keep. */
    versions: procedure.input(z.object({ name: z.string() })).output(z.array(rigVersionSchema)),
    /** What differs between two versions, in words. */
    difference: procedure.input(rigDifferenceAskSchema).output(z.object({ changes: z.array(rigChangeSchema) })),
    /** What went over the wire of an instrument since an entry, and counts of all of it. Asked again and again. */
    wire: procedure.input(wireAskSchema).output(wireViewSchema),
    /** Writes what goes over the wire from now on to a new file of the folder; one at a time for each instrument. */
    beginCapture: procedure.input(z.object({ instrument: slugSchema })).output(captureStateSchema),
    endCapture: procedure.input(z.object({ instrument: slugSchema })).output(captureStateSchema),
    beginCheck: procedure.input(checkBeginningSchema).output(done),
    /** What the step under way asks for has been done, and this is what was seen. */
    answerCheck: procedure.input(z.object({ answers: answersSchema })).output(done),
    cancelCheck: procedure.input(nothing).output(done),
    /** The last fifty of a check of the open rig, newest first. */
    checkHistory: procedure.input(checkChoiceSchema).output(z.array(keptCheckSchema)),
    /** What a check was judged on, so that it can be judged again. */
    checkGround: procedure.input(z.object({ number: z.number().int().positive() })).output(checkGroundSchema),
  },

  /** Instruments of the laboratory and their certificates. A trial keeps those that were frozen with it. */
  register: {
    /** Reads the laboratory file anew: a command may have put something down. */
    view: procedure.input(nothing).output(registerViewSchema),
    /** Of one instrument: its records, and what checks have shown while it worked in a rig. */
    history: procedure.input(z.object({ instrument: codeSchema })).output(instrumentHistorySchema),
    /** A registered technician puts something down: a record that is added to the others. Refused for anybody else. */
    add: procedure.input(registerAskSchema).output(z.object({ record: z.number().int() })),
  },

  series: {
    /** Every series that can be planned, whole: the program's, the newest of the laboratory, that of the scenario. */
    list: procedure.input(nothing).output(
      z.array(listedSeriesSchema),
    ),
    /** What the newest assessed trial on the open rig has shown of scatter; null: no rig is open. */
    scatter: procedure.input(nothing).output(scatterAnswerSchema.nullable()),
    /**
     * Keeps it under the version it names where that is above every one of its name, otherwise under the next; what is
     * there already changes nothing. The name of a template is refused. `newest`: version of the laboratory's newest of
     * that name as the window saw it, 0: none; refused where somebody else has kept a newer one since.
     */
    save: procedure
      .input(z.object({ series: seriesEntrySchema, newest: z.number().int().nonnegative() }))
      .output(z.object({ version: z.number().int() })),
  },

  study: {
    create: procedure.input(z.object({ name: z.string().min(1).max(80) })).output(z.object({ file: z.string() })),
    /** Reads the folder again. */
    refresh: procedure.input(nothing).output(done),
    /** Its trials together: roster, figures of each ensemble, ratios; from stored assessments. */
    summary: procedure.input(z.object({ file: z.string() })).output(studyViewSchema),
    /** The same with trials taken out or by another method, to see what hangs on them; nothing is written. */
    whatIf: procedure.input(whatIfSchema).output(studyViewSchema),
    /** The report of a study: its steps, then the file in pieces. */
    report: procedure
      .input(z.object({ file: z.string(), format: reportFormatSchema }))
      .output(eventIterator(reportPartSchema)),
  },

  trial: {
    preview: procedure.input(planSchema).output(planPreviewSchema),
    /** Begins to record a trial on the open rig: phase `prepared`, nobody exerts yet. */
    prepare: procedure.input(planSchema).output(z.object({ trial: identifierSchema })),
    /**
     * Prepares a trial anew that is void or was stopped, by its own plan. `from`: the exercise that was broken off, to
     * begin with it; null: all of the series.
     */
    repeat: procedure
      .input(trialChoice.extend({ from: slugSchema.nullable() }))
      .output(z.object({ trial: identifierSchema })),
    /** Takes up an interrupted trial, held. */
    resume: procedure.input(trialChoice).output(done),
    command: procedure
      .input(
        z.object({
          trial: identifierSchema,
          action: z.enum(['start', 'hold', 'go-on', 'repeat', 'skip', 'extend-rest', 'stop', 'close', 'mark']),
          note: z.string().max(400),
          /** For `repeat`, `skip` and `extend-rest`: the exercise meant; null: the one under way or next. */
          exercise: slugSchema.nullable(),
          /** Window clock minus host clock when the key was pressed, ms; null when not known. */
          windowOffsetMilliseconds: z.number().nullable(),
        }),
      )
      .output(done),
    /** Says how one item of the list of before the start stands. `second`: code of who has seen it too. */
    answer: procedure
      .input(
        z.object({
          trial: identifierSchema,
          item: beforeItemSchema,
          answer: z.enum(['confirmed', 'passed-over', 'withdrawn']),
          second: codeSchema.nullable(),
          note: z.string().max(200),
        }),
      )
      .output(done),
    /** Says how one item of the list of after the trial stands. */
    answerAfter: procedure
      .input(
        z.object({
          trial: identifierSchema,
          item: afterItemSchema,
          answer: z.enum(['confirmed', 'noted', 'passed-over', 'withdrawn']),
          note: z.string().max(400),
        }),
      )
      .output(done),
    /** Leaves the finished or given-up trial: the host has no trial under way afterwards. */
    leave: procedure.input(nothing).output(done),
    result: procedure.input(trialChoice).output(trialResultSchema),
    /** How one cell of the assessment that counts was computed. */
    explain: procedure
      .input(trialChoice.extend({ exercise: slugSchema, probe: slugSchema }))
      .output(cellExplanationSchema),
    /** The report of a sealed and assessed trial: its steps, then the file in pieces. */
    report: procedure.input(trialChoice.extend({ format: reportFormatSchema })).output(eventIterator(reportPartSchema)),
    /** Assesses a closed trial by the method frozen with it. */
    assess: procedure.input(trialChoice).output(done),
    /** Assesses a sealed trial as a reviewer wants it: a new assessment beside the others, refused for anybody else. */
    review: procedure
      .input(trialChoice.extend(reviewAskSchema.shape))
      .output(z.object({ assessment: identifierSchema })),
    /** A reviewer makes a sealed trial void, or takes that back: a new record beside it. Refused for anybody else. */
    void: procedure.input(trialChoice.extend(voidAskSchema.shape)).output(done),
    /** Signs an assessment of a sealed trial, or takes its last signature back. Nobody reviews what they assessed. */
    sign: procedure.input(trialChoice.extend(signAskSchema.shape)).output(done),
    /** How two assessments of a trial differ; null: the one before the other, and the newest. */
    difference: procedure
      .input(trialChoice.extend({ from: identifierSchema.nullable(), to: identifierSchema.nullable() }))
      .output(differenceSchema),
  },

  /** Playing a recorded trial back, for every window alike. */
  replay: {
    /** Shows a trial from its beginning, standing. Refused while a trial is under way or a rig is open. */
    open: procedure.input(trialChoice).output(done),
    change: procedure.input(replayChangeSchema).output(done),
    close: procedure.input(nothing).output(done),
  },

  alarm: {
    acknowledge: procedure
      .input(z.object({ alarm: slugSchema, instrument: slugSchema.nullable(), reason: z.string().max(200) }))
      .output(done),
  },
};
export type Contract = typeof contract;
