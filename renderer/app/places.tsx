import { useCallback, useEffect, useMemo, useState, type ReactElement } from 'react';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { TrialResult } from '../../src/bridge/result.ts';
import type { StudyView, WhatIfAsked } from '../../src/bridge/study.ts';
import { TrialTrace } from '../chart/trial-trace.tsx';
import { PersonScreen } from '../person/person-screen.tsx';
import { ReplayScreen } from '../replay/replay-screen.tsx';
import { ResultScreen } from '../review/result-screen.tsx';
import type { RigActions } from '../rig/rig-actions.ts';
import { RigScreen } from '../rig/rig-screen.tsx';
import { StartScreen } from '../start/start-screen.tsx';
import { PlanScreen } from '../study/plan-screen.tsx';
import { StudyScreen } from '../study/study-screen.tsx';
import { Console } from '../trial/console.tsx';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { appWords } from '../words/app.ts';
import { studyWords } from '../words/study.ts';
import { instrumentName } from '../rig/instrument-card.tsx';
import type { Connection } from './connection.ts';
import { liveReadings } from './live-readings.tsx';
import type { ReportFormat } from '../../src/bridge/report-part.ts';
import { receiveReport, saveFile, type ReportProgress } from './receive-report.ts';
import { routes } from './routes.ts';

/** What joins a screen to the host and to the other screens. Screens themselves know neither. */
export interface PlaceProps {
  readonly connection: Connection;
  readonly snapshot: Snapshot;
  readonly go: (to: string) => void;
}

export function StartPlace({ connection, snapshot, go }: PlaceProps): ReactElement {
  return (
    <StartScreen
      snapshot={snapshot}
      actions={{
        async takeUp(file, trial) {
          const taken = await connection.ask((client) => client.trial.resume({ file, trial }));
          // Here and not in the screen: what asked for it has gone from the screen when the trial is under way again.
          if (taken.done) go(routes.trial);
          return taken;
        },
        startVirtual: (scenario) => connection.ask((client) => client.rig.startVirtual({ scenario, seed: null })),
        createStudy: (name) => connection.ask((client) => client.study.create({ name })),
        refresh: () => connection.ask((client) => client.study.refresh({})),
        toConsole: () => go(routes.trial),
        toRig: () => go(routes.rig),
        toPlan: (file) => go(routes.plan(file)),
        toStudy: (file) => go(routes.study(file)),
        toResult: (file, trial) => go(routes.result(file, trial)),
      }}
    />
  );
}

export function PersonPlace({ connection, snapshot }: PlaceProps): ReactElement {
  return (
    <PersonScreen
      snapshot={snapshot}
      actions={{
        choose: (code) => connection.ask((client) => client.person.choose({ code })),
        add: (person) => connection.ask((client) => client.person.add({ ...person, roles: [...person.roles] })),
        back: () => window.history.back(),
      }}
    />
  );
}

export function RigPlace({
  connection,
  snapshot,
  go,
  chosen,
}: PlaceProps & {
  readonly chosen: { readonly check: string; readonly subject: string | null } | null;
}): ReactElement {
  const actions = useMemo<RigActions>(
    () => ({
      startVirtual: (scenario, seed) => connection.ask((client) => client.rig.startVirtual({ scenario, seed })),
      open: (name) => connection.ask((client) => client.rig.open({ name })),
      close: () => connection.ask((client) => client.rig.close({})),
      selectPort: (port) => connection.ask((client) => client.rig.selectPort({ port })),
      retry: (instrument) => connection.ask((client) => client.rig.retry({ instrument })),
      connect: (instrument, settings) => connection.ask((client) => client.rig.connect({ instrument, settings })),
      async offeredPorts() {
        const offered = await connection.ask((client) => client.rig.offeredPorts({}));
        return offered.done ? offered.value : { ports: [], note: offered.failure.what };
      },
      async line(ask) {
        const said = await connection.ask((client) => client.rig.line(ask));
        return said.done ? said.value : null;
      },
      askPorts: (ask, ports) => connection.ask((client) => client.rig.askPorts({ ...ask, ports: [...ports] })),
      async dialects() {
        const offered = await connection.ask((client) => client.rig.dialects({}));
        return offered.done ? offered.value : [];
      },
      template: () => connection.ask((client) => client.rig.template({})),
      async saveAndOpen(rig, connections) {
        const saved = await connection.ask((client) => client.rig.save({ rig }));
        if (!saved.done) return saved;
        const opened = await connection.ask((client) => client.rig.open({ name: rig.name }));
        if (!opened.done) return opened;
        for (const [instrument, settings] of connections) {
          const connected = await connection.ask((client) => client.rig.connect({ instrument, settings }));
          if (!connected.done) return connected;
        }
        return opened;
      },
      beginCheck: (beginning) => connection.ask((client) => client.rig.beginCheck(beginning)),
      answerCheck: (answers) => connection.ask((client) => client.rig.answerCheck({ answers })),
      cancelCheck: () => connection.ask((client) => client.rig.cancelCheck({})),
      checkHistory: (choice) => connection.ask((client) => client.rig.checkHistory(choice)),
      checkGround: (number) => connection.ask((client) => client.rig.checkGround({ number })),
      versions: (name) => connection.ask((client) => client.rig.versions({ name })),
      difference: (asked) => connection.ask((client) => client.rig.difference(asked)),
      wire: (instrument, after) => connection.ask((client) => client.rig.wire({ instrument, after })),
      beginCapture: (instrument) => connection.ask((client) => client.rig.beginCapture({ instrument })),
      endCapture: (instrument) => connection.ask((client) => client.rig.endCapture({ instrument })),
      toPlan: () => go(routes.plan(null)),
      toPerson: () => go(routes.person),
      now: () => Date.now(),
    }),
    [connection, go],
  );
  return (
    <RigScreen
      snapshot={snapshot}
      chosen={chosen}
      onChoose={(next) => go(next === null ? routes.rig : routes.check(next.check, next.subject))}
      actions={actions}
      live={liveReadings(connection, snapshot)}
    />
  );
}

export function PlanPlace({
  connection,
  snapshot,
  go,
  file,
}: PlaceProps & { readonly file: string | null }): ReactElement {
  const actions = useMemo(
    () => ({
      preview: (plan: Parameters<Parameters<typeof PlanScreen>[0]['actions']['preview']>[0]) =>
        connection.ask((client) => client.trial.preview(plan)),
      prepare: (plan: Parameters<Parameters<typeof PlanScreen>[0]['actions']['prepare']>[0]) =>
        connection.ask((client) => client.trial.prepare(plan)),
      createStudy: (name: string) => connection.ask((client) => client.study.create({ name })),
      toRig: () => go(routes.rig),
      toPerson: () => go(routes.person),
      toConsole: () => go(routes.trial),
      toSeries: () => go(routes.series),
      instrumentName: (instrument: string) => {
        const found = snapshot.rig.instruments.find((one) => one.instrument === instrument);
        return found === undefined ? instrument : instrumentName(found);
      },
      now: () => Date.now(),
    }),
    [connection, go, snapshot.rig.instruments],
  );
  return <PlanScreen snapshot={snapshot} file={file} actions={actions} />;
}

export function StudyPlace({ connection, go, file }: PlaceProps & { readonly file: string }): ReactElement {
  const [outcome, setOutcome] = useState<Outcome<StudyView> | null>(null);
  const load = useCallback(async () => {
    const read = await connection.ask((client) => client.study.summary({ file }));
    setOutcome(read);
    return read;
  }, [connection, file]);
  const actions = useMemo(
    () => ({
      readAgain: load,
      saveReport: (format: ReportFormat, onProgress: (progress: ReportProgress) => void) =>
        connection.ask(async (client) => {
          const report = await receiveReport(await client.study.report({ file, format }), onProgress);
          saveFile(report.name, report.file);
          return report;
        }),
      whatIf: (asked: WhatIfAsked) => connection.ask((client) => client.study.whatIf(asked)),
      toTrial: (trial: string) => go(routes.result(file, trial)),
      toPlan: () => go(routes.plan(file)),
    }),
    [connection, file, go, load],
  );
  useEffect(() => {
    void load();
  }, [load]);
  if (outcome === null) {
    return (
      <p className="app-waiting" role="status">
        {studyWords.opening(file)}
      </p>
    );
  }
  if (outcome.done) return <StudyScreen view={outcome.value} actions={actions} />;
  return (
    <main className="app-empty">
      <h1>{appWords.notShown}</h1>
      <FailureBlock failure={outcome.failure} />
      <Button lit onPress={() => go(routes.start)}>
        {appWords.toStart}
      </Button>
    </main>
  );
}

export function TrialPlace({ connection, snapshot, go }: PlaceProps): ReactElement {
  const { trial } = snapshot;
  if (trial === null) {
    return (
      <main className="app-empty">
        <h1>{appWords.noTrial}</h1>
        <p>{appWords.noTrialMore}</p>
        <Button lit onPress={() => go(routes.start)}>
          {appWords.toStart}
        </Button>
      </main>
    );
  }
  return (
    <Console
      connection={connection}
      snapshot={snapshot}
      trial={trial}
      onResult={() => {
        go(routes.result(trial.file, trial.trial));
      }}
      onLeave={() => {
        void connection
          .ask((client) => client.trial.leave({}))
          .then((left) => {
            if (left.done) go(routes.start);
          });
      }}
    />
  );
}

export function ReplayPlace({ connection, snapshot, go }: PlaceProps): ReactElement {
  const { replay } = snapshot;
  if (replay === null) {
    return (
      <main className="app-empty">
        <h1>{appWords.noReplay}</h1>
        <p>{appWords.noReplayMore}</p>
        <Button lit onPress={() => go(routes.start)}>
          {appWords.toStart}
        </Button>
      </main>
    );
  }
  return (
    <ReplayScreen
      samples={connection.samples}
      snapshot={snapshot}
      replay={replay}
      actions={{
        change: (change) => connection.ask((client) => client.replay.change(change)),
        async end() {
          const ended = await connection.ask((client) => client.replay.close({}));
          if (ended.done) go(routes.result(replay.file, replay.trial));
          return ended;
        },
      }}
    />
  );
}

export function ResultPlace(props: PlaceProps & { readonly file: string; readonly trial: string }): ReactElement {
  const { connection, file, snapshot, trial, go } = props;
  const [outcome, setOutcome] = useState<Outcome<TrialResult> | null>(null);
  const load = useCallback(
    () => connection.ask((client) => client.trial.result({ file, trial })).then(setOutcome),
    [connection, file, trial],
  );
  useEffect(() => {
    void load();
  }, [load]);
  if (outcome === null) {
    return (
      <p className="app-waiting" role="status">
        {appWords.openingTrial(file)}
      </p>
    );
  }
  if (!outcome.done) {
    return (
      <main className="app-empty">
        <h1>{appWords.notShown}</h1>
        <FailureBlock failure={outcome.failure} />
        <Button lit onPress={() => go(routes.start)}>
          {appWords.toStart}
        </Button>
      </main>
    );
  }
  const result = outcome.value;
  return (
    <ResultScreen
      result={result}
      actions={{
        async assess() {
          const assessed = await connection.ask((client) => client.trial.assess({ file, trial }));
          if (assessed.done) await load();
          return assessed;
        },
        async replay() {
          const opened = await connection.ask((client) => client.replay.open({ file, trial }));
          if (opened.done) go(routes.replay);
          return opened;
        },
        explain: (place) => connection.ask((client) => client.trial.explain({ file, trial, ...place })),
        saveReport: (format, onProgress) =>
          connection.ask(async (client) => {
            const report = await receiveReport(await client.trial.report({ file, trial, format }), onProgress);
            saveFile(report.name, report.file);
            return report;
          }),
        async review(asked) {
          const made = await connection.ask((client) => client.trial.review({ file, trial, ...asked }));
          if (made.done) await load();
          return made;
        },
        async decide(asked) {
          const decided = await connection.ask((client) => client.trial.void({ file, trial, ...asked }));
          if (decided.done) await load();
          return decided;
        },
        async sign(asked) {
          const signed = await connection.ask((client) => client.trial.sign({ file, trial, ...asked }));
          if (signed.done) await load();
          return signed;
        },
        difference: (from, to) => connection.ask((client) => client.trial.difference({ file, trial, from, to })),
        async repeat(from) {
          const prepared = await connection.ask((client) => client.trial.repeat({ file, trial, from }));
          if (prepared.done) go(routes.trial);
          return prepared;
        },
        toTrial: (other) => go(routes.result(file, other)),
        toStart: () => go(routes.start),
        toStudy: () => go(routes.study(file)),
      }}
      people={snapshot.people}
      here={snapshot.person?.code ?? null}
      trace={(shown) => (
        <TrialTrace
          {...shown}
          result={result}
          history={(stream, from, to) =>
            connection.samples.history({
              of: { file, trial },
              stream,
              fromMicroseconds: from,
              toMicroseconds: to,
              mostSamples: 20_000,
            })
          }
        />
      )}
    />
  );
}
