import { randomBytes } from 'node:crypto';
import { basename, join } from 'node:path';
import { concentrationStream, drivers } from '../../../drivers/registry.ts';
import type { Plan } from '../../bridge/contract.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Identifier } from '../../model/identity.ts';
import { putsLoad } from '../../model/rig.ts';
import { subjectPerson, unknownPerson } from '../../model/trial-event.ts';
import { describeStreams } from '../acquisition/acquisition.ts';
import type { Computer } from '../compute/computer.ts';
import type { HostProcedures } from '../door/served-host.ts';
import { checkScenario } from '../rehearsal/check-scenario.ts';
import { offeredScenarios, templateRig } from '../rig/offers.ts';
import { newIdentifier } from '../session/resumption.ts';
import { passingTruthPath, studyPath } from './folder.ts';
import type { LaboratoryDesk } from './laboratory-desk.ts';
import type { PortDesk } from './port-desk.ts';
import { offeredSeries } from './offered-series.ts';
import { compilePlan, previewPlan } from './preview.ts';
import type { CompiledPlan } from './preview.ts';
import { registerProcedures } from './register-procedures.ts';
import { refusal, underWayRefusal } from './refusal.ts';
import { reportProcedures } from './report-procedures.ts';
import type { ReplayDesk } from '../replay/replay-desk.ts';
import type { RigDesk } from './rig-desk.ts';
import { seriesProcedures } from './series-procedures.ts';
import type { SealedDesk } from './sealed-desk.ts';
import type { TrialDesk } from './trial-desk.ts';
import type { TrialUnderWay } from './trial-under-way.ts';

export interface ProcedureParts {
  readonly folder: string;
  readonly wire: 'pty' | 'tcp';
  readonly files: Computer;
  /** Makes reports: a computer of its own, so that nobody waits for one. */
  readonly reporting: Computer;
  readonly laboratory: LaboratoryDesk;
  readonly rigs: RigDesk;
  readonly ports: PortDesk;
  readonly trials: TrialDesk;
  readonly sealed: SealedDesk;
  readonly replays: ReplayDesk;
  readonly wallNow: () => Date;
  readonly refresh: () => Promise<void>;
  readonly changed: () => void;
  /** Code of who is at the rig. */
  readonly person: { get(): string | null; set(code: string | null): void };
}

/** The window by which the program itself asks. */
const ownWindow = 0;
/** What is noted of a stop on the subject's display. */
const subjectStopped = 'The subject stopped, on their own display.';

/** What windows can ask of the host. */
export function hostProcedures(parts: ProcedureParts): HostProcedures {
  const { folder, laboratory, rigs, trials } = parts;
  const reports = reportProcedures(parts.reporting, folder);
  const inOrder = oneAfterTheOther();

  const whoever = (): string => {
    const code = parts.person.get();
    if (code !== null) return code;
    throw new ChambersideError('person-missing', 'nobody is at the rig', 'person', 'Say who is at the rig first.');
  };
  const underWay = (): TrialUnderWay | null => {
    const { trial } = trials;
    return trial === null || trial.ending === 'done' || trial.ending === 'failed' ? null : trial;
  };
  const noTrial = (): void => {
    const trial = underWay();
    if (trial !== null) throw underWayRefusal(trial.header.trial, trial.waitsForAfter);
  };
  /** The sample channel carries one time only: instruments and a replay never at once. */
  const noReplay = (): void => {
    if (parts.replays.open) throw refusal('a replay is open', 'replay', 'End the replay first.');
  };
  const compiled = (plan: Plan): CompiledPlan => {
    const offered = offeredSeries(laboratory, rigs).map(({ series }) => series);
    return compilePlan(plan, rigs.require().rig, offered);
  };
  const instrumentOf = (instrument: string): void => {
    const { rig } = rigs.require();
    if (rig.instruments.some((candidate) => candidate.instrument === instrument)) return;
    throw refusal(`the rig has no instrument ${instrument}`, rig.name, 'Choose one of its instruments.');
  };

  return {
    person: {
      async choose({ code }) {
        if (code !== null && !laboratory.people.some((person) => person.code === code)) {
          throw new ChambersideError('person-not-found', 'nobody has this code', code, 'Add the person first.');
        }
        parts.person.set(code);
        return {};
      },
      async add({ code, name, roles, pin }) {
        await laboratory.change({ change: 'person', code, name, roles, pin });
        const added = laboratory.people.find((person) => person.code === code);
        if (added === undefined) throw new ChambersideError('internal', 'not there after adding', code, 'Report this.');
        return added;
      },
    },

    rig: {
      startVirtual: ({ scenario, seed }, { window }) =>
        inOrder(async () => {
          noTrial();
          noReplay();
          const found = scenarioFor(folder, scenario, window);
          checkScenario({ scenario: found, seed, resume: false });
          await rigs.startVirtual({
            wire: parts.wire,
            scenario: found,
            seed: seed ?? randomBytes(4).readUInt32LE(),
            truthFile: passingTruthPath(folder, newIdentifier('boot')),
            passing: true,
          });
          return {};
        }),
      open: ({ name }) =>
        inOrder(async () => {
          noTrial();
          noReplay();
          const chosen = laboratory.rig(name);
          // Kept by a version that took other units.
          concentrationStream(chosen, `rig ${name}`);
          describeStreams(chosen);
          // A changed rig takes the place of the one that is open: what was saved is what is watched and measured by.
          if (rigs.opened !== null && rigs.virtual === null) {
            if (rigs.checking) throw refusal('a check is under way', 'rig', 'Cancel it, or wait for its end.');
            await rigs.close();
          }
          rigs.openLaboratory(chosen);
          return {};
        }),
      close: () =>
        inOrder(async () => {
          noTrial();
          await rigs.close();
          return {};
        }),
      async selectPort({ port }) {
        const phase = underWay()?.machine.phase;
        if (phase === 'running') {
          throw refusal('the trial moves the valve itself', 'valve', 'Hold the trial, then move it by hand.');
        }
        await rigs.selectPort(port, () => underWay()?.noteValve(port, parts.person.get() ?? unknownPerson));
        return {};
      },
      async setOutput({ instrument, output, value }) {
        instrumentOf(instrument);
        const set = `${instrument}: ${output} set to ${value}`;
        await rigs.setOutput(instrument, output, value);
        const trial = underWay();
        if (trial !== null) {
          const mark = { action: 'mark', exercise: null, windowOffsetMilliseconds: null } as const;
          trial.command({ ...mark, person: parts.person.get() ?? unknownPerson, note: set });
        }
        return {};
      },
      async retry({ instrument }) {
        instrumentOf(instrument);
        rigs.require().retry(instrument);
        return {};
      },
      async connect({ instrument, settings }) {
        instrumentOf(instrument);
        const opened = rigs.require();
        if (rigs.virtual !== null) {
          throw refusal('the virtual rig connects its instruments itself', instrument, 'Wait until it is back.');
        }
        const trial = underWay();
        const putsIt = opened.rig.instruments.some((one) => one.instrument === instrument && putsLoad(one.kind));
        if (putsIt && trial?.machine.phase === 'running') {
          const remedy = 'Hold the trial first: its load goes to zero with the connection.';
          throw refusal('a trial is under way on its load', instrument, remedy);
        }
        await laboratory.change({ change: 'connection', rig: opened.rig.name, instrument, settings });
        await opened.reconnect(instrument);
        if (putsIt && trial?.recording === true) {
          const mark = { action: 'mark', exercise: null, windowOffsetMilliseconds: null } as const;
          const note = `${instrument}: connected anew; a guarded load goes to zero with that`;
          trial.command({ ...mark, person: parts.person.get() ?? unknownPerson, note });
        }
        return {};
      },
      offeredPorts: () => parts.ports.offered(underWay() !== null),
      line: async (ask) => parts.ports.line(ask),
      askPorts: ({ ports, ...ask }) => parts.ports.ask(ask, ports, underWay() !== null),
      dialects: () =>
        Promise.resolve(
          drivers
            .filter(({ kind }) => kind !== 'photometer' && kind !== 'selector-valve')
            .map(({ kind, dialect, title }) => ({ kind, dialect, title })),
        ),
      template: () => Promise.resolve(templateRig()),
      async save({ rig }) {
        describeStreams(rig);
        concentrationStream(rig, `rig ${rig.name}`);
        await laboratory.change({ change: 'rig', rig });
        return { version: laboratory.rig(rig.name).version };
      },
      versions: ({ name }) => laboratory.rigVersions(name),
      difference: async (asked) => ({ changes: await laboratory.rigDifference(asked) }),
      wire: async ({ instrument, after }) => rigs.wires().read(instrument, after),
      beginCapture: ({ instrument }) => rigs.wires().beginCapture(instrument),
      endCapture: ({ instrument }) => rigs.wires().endCapture(instrument),
      async beginCheck(beginning) {
        noTrial();
        rigs.beginCheck(beginning, whoever());
        return {};
      },
      async answerCheck({ answers }) {
        rigs.answerCheck(answers);
        return {};
      },
      async checkHistory(choice) {
        return laboratory.checkHistory(rigs.require().rig, choice);
      },
      async checkGround({ number }) {
        return { ground: await laboratory.checkGround(number) };
      },
      async cancelCheck() {
        rigs.cancelCheck();
        return {};
      },
    },

    register: registerProcedures(parts),

    series: seriesProcedures(parts),

    study: {
      async create({ name }) {
        const created = await parts.files.do('create-study', { folder, name, now: parts.wallNow().toISOString() });
        await parts.refresh();
        return created;
      },
      async refresh() {
        await laboratory.refresh();
        await parts.refresh();
        return {};
      },
      summary: ({ file }) => parts.files.do('study-summary', { path: studyPath(folder, file), file }),
      report: reports.ofStudy,
      whatIf: (asked) => parts.files.do('study-what-if', { path: studyPath(folder, asked.file), asked }),
    },

    trial: {
      async preview(plan) {
        const { rig } = rigs.require();
        const { certificates } = laboratory.supports(rig);
        const now = parts.wallNow().getTime();
        return previewPlan(compiled(plan), plan, rig, laboratory.checksOf(rig), now, certificates);
      },
      prepare: (plan) =>
        inOrder(async () => {
          noTrial();
          const person = whoever();
          if (rigs.checking) throw refusal('a check is under way', 'rig', 'Cancel it, or wait for its end.');
          const { rig } = rigs.require();
          // The register is written by a command of its own.
          await laboratory.refresh();
          return { trial: await trials.prepare(plan, compiled(plan), person, laboratory.supports(rig)) };
        }),
      repeat: ({ file, trial, from }) =>
        inOrder(async () => {
          noTrial();
          noReplay();
          const person = whoever();
          if (rigs.checking) throw refusal('a check is under way', 'rig', 'Cancel it, or wait for its end.');
          const { rig } = rigs.require();
          await laboratory.refresh();
          return { trial: await trials.repeat(file, trial, from, person, laboratory.supports(rig)) };
        }),
      resume: ({ file, trial }) =>
        inOrder(async () => {
          noTrial();
          noReplay();
          rigs.cancelCheck();
          await trials.resume(file, trial);
          return {};
        }),
      async command({ trial, action, note, exercise, windowOffsetMilliseconds }, { display }) {
        const current = requireTrial(trials.trial, trial);
        if (display === 'subject') {
          if (action !== 'stop') throw refusal("the subject's display can only stop", action, 'Press STOP ME.');
          current.command({ action, person: subjectPerson, note: subjectStopped, exercise, windowOffsetMilliseconds });
          return {};
        }
        // Whoever stops or holds is never asked who they are first.
        const urgent = action === 'stop' || action === 'hold';
        const person = urgent ? (parts.person.get() ?? unknownPerson) : whoever();
        current.command({ action, person, note, exercise, windowOffsetMilliseconds });
        return {};
      },
      async answer({ trial, item, answer, second, note }) {
        const current = requireTrial(trials.trial, trial);
        if (second !== null && !laboratory.people.some(({ code }) => code === second)) {
          throw new ChambersideError('person-not-found', 'nobody has this code', second, 'Add the person first.');
        }
        current.answer({ item, answer, persons: [whoever(), ...(second === null ? [] : [second])], note });
        return {};
      },
      async answerAfter({ trial, item, answer, note }) {
        requireTrial(trials.trial, trial).answerAfter({ item, answer, persons: [whoever()], note });
        return {};
      },
      leave: () =>
        inOrder(async () => {
          trials.leave();
          return {};
        }),
      result: ({ file, trial }) => parts.files.do('result', { path: studyPath(folder, file), file, trial }),
      explain: ({ file, trial, exercise, probe }) =>
        parts.files.do('explain', { path: studyPath(folder, file), trial, place: { exercise, probe } }),
      report: reports.ofTrial,
      async assess({ file, trial }) {
        await trials.assess(file, trial);
        return {};
      },
      async review({ file, trial, ...asked }) {
        return { assessment: await parts.sealed.review(file, trial, asked) };
      },
      async void({ file, trial, ...asked }) {
        await parts.sealed.decide(file, trial, asked);
        return {};
      },
      async sign({ file, trial, ...asked }) {
        await parts.sealed.sign(file, trial, asked);
        return {};
      },
      difference: ({ file, trial, from, to }) =>
        parts.files.do('difference', { path: studyPath(folder, file), trial, from, to }),
    },

    replay: {
      open: ({ file, trial }) =>
        inOrder(async () => {
          noTrial();
          const { rig, state } = rigs.state([]);
          if (state !== 'closed' && state !== 'failed') {
            throw refusal('a rig is open', rig?.name ?? 'rig', 'Close the rig first: a replay has no instruments.');
          }
          trials.leave();
          await parts.replays.begin(file, trial);
          return {};
        }),
      async change(change) {
        parts.replays.change(change);
        return {};
      },
      close: () =>
        inOrder(async () => {
          parts.replays.end();
          return {};
        }),
    },

    alarm: {
      async acknowledge({ alarm, instrument, reason }) {
        const { trial } = trials;
        if (trial === null) throw refusal('no trial is under way', alarm, 'There is nothing to acknowledge.');
        trial.acknowledge(alarm, instrument, whoever(), reason);
        return {};
      },
    },
  };
}

function requireTrial(current: TrialUnderWay | null, trial: Identifier): TrialUnderWay {
  if (current?.header.trial === trial) return current;
  throw refusal('this trial is not under way here', trial, 'Look at the trial that is.');
}

/**
 * A scenario by name, or by the name of a file in the folder. A path anywhere is only for the program's own command
 * line: a window must not make the host read what it likes.
 */
function scenarioFor(folder: string, scenario: string, window: number): string {
  if (window === ownWindow || offeredScenarios().some((offer) => offer.scenario === scenario)) return scenario;
  if (basename(scenario) === scenario && scenario.endsWith('.json')) return join(folder, scenario);
  throw refusal(`there is no scenario ${scenario}`, 'scenario', 'Choose one that is offered.');
}

/** Opening and closing, beginning and leaving: each waits until the one before is done. */
function oneAfterTheOther(): <Result>(work: () => Promise<Result>) => Promise<Result> {
  let last: Promise<unknown> = Promise.resolve();
  return (work) => {
    const done = last.then(work, work);
    last = done.catch(() => undefined);
    return done;
  };
}
