import { implement } from '@orpc/server';
import { contract } from '../../bridge/contract.ts';
import { newestSnapshots } from './newest-snapshot.ts';
import { refusalOf } from './refusal.ts';
import type { AskingWindow, ServedHost } from './served-host.ts';

/** What the door knows of the window that calls. */
export interface CallContext {
  readonly window: AskingWindow;
  /** Settles when the window has taken what was sent to it, or has gone. */
  readonly taken: () => Promise<void>;
  /** The window has gone, or is sent away. The library's own signal misses calls that begin at that moment. */
  readonly gone: AbortSignal;
}

/**
 * The contract over a host, for any door. Every procedure is written out, so that one that the contract gains is
 * missed by the compiler and not by a window.
 */
export function createRouter(host: ServedHost, onDefect: (error: unknown, where: string) => void) {
  const os = implement(contract).$context<CallContext>();
  const { person, rig, register, series, study, trial, replay, alarm } = host.procedures;
  return os.router({
    watch: os.watch.handler(async function* ({ context, signal }) {
      const { gone } = context;
      try {
        yield* newestSnapshots(host, context.taken, signal === undefined ? gone : AbortSignal.any([signal, gone]));
      } catch (error) {
        throw refusalOf(error, 'watch', onDefect);
      }
    }),
    clock: os.clock.handler(() => host.clock()),
    person: {
      choose: os.person.choose.handler(({ input, context }) => person.choose(input, context.window)),
      add: os.person.add.handler(({ input, context }) => person.add(input, context.window)),
    },
    rig: {
      startVirtual: os.rig.startVirtual.handler(({ input, context }) => rig.startVirtual(input, context.window)),
      open: os.rig.open.handler(({ input, context }) => rig.open(input, context.window)),
      close: os.rig.close.handler(({ input, context }) => rig.close(input, context.window)),
      selectPort: os.rig.selectPort.handler(({ input, context }) => rig.selectPort(input, context.window)),
      setOutput: os.rig.setOutput.handler(({ input, context }) => rig.setOutput(input, context.window)),
      retry: os.rig.retry.handler(({ input, context }) => rig.retry(input, context.window)),
      connect: os.rig.connect.handler(({ input, context }) => rig.connect(input, context.window)),
      offeredPorts: os.rig.offeredPorts.handler(({ input, context }) => rig.offeredPorts(input, context.window)),
      line: os.rig.line.handler(({ input, context }) => rig.line(input, context.window)),
      askPorts: os.rig.askPorts.handler(({ input, context }) => rig.askPorts(input, context.window)),
      dialects: os.rig.dialects.handler(({ input, context }) => rig.dialects(input, context.window)),
      template: os.rig.template.handler(({ input, context }) => rig.template(input, context.window)),
      save: os.rig.save.handler(({ input, context }) => rig.save(input, context.window)),
      versions: os.rig.versions.handler(({ input, context }) => rig.versions(input, context.window)),
      difference: os.rig.difference.handler(({ input, context }) => rig.difference(input, context.window)),
      wire: os.rig.wire.handler(({ input, context }) => rig.wire(input, context.window)),
      beginCapture: os.rig.beginCapture.handler(({ input, context }) => rig.beginCapture(input, context.window)),
      endCapture: os.rig.endCapture.handler(({ input, context }) => rig.endCapture(input, context.window)),
      beginCheck: os.rig.beginCheck.handler(({ input, context }) => rig.beginCheck(input, context.window)),
      answerCheck: os.rig.answerCheck.handler(({ input, context }) => rig.answerCheck(input, context.window)),
      cancelCheck: os.rig.cancelCheck.handler(({ input, context }) => rig.cancelCheck(input, context.window)),
      checkHistory: os.rig.checkHistory.handler(({ input, context }) => rig.checkHistory(input, context.window)),
      checkGround: os.rig.checkGround.handler(({ input, context }) => rig.checkGround(input, context.window)),
    },
    register: {
      view: os.register.view.handler(({ input, context }) => register.view(input, context.window)),
      history: os.register.history.handler(({ input, context }) => register.history(input, context.window)),
      add: os.register.add.handler(({ input, context }) => register.add(input, context.window)),
    },
    series: {
      list: os.series.list.handler(({ input, context }) => series.list(input, context.window)),
      scatter: os.series.scatter.handler(({ input, context }) => series.scatter(input, context.window)),
      save: os.series.save.handler(({ input, context }) => series.save(input, context.window)),
    },
    study: {
      create: os.study.create.handler(({ input, context }) => study.create(input, context.window)),
      refresh: os.study.refresh.handler(({ input, context }) => study.refresh(input, context.window)),
      summary: os.study.summary.handler(({ input, context }) => study.summary(input, context.window)),
      report: os.study.report.handler(async function* ({ input, context }) {
        try {
          yield* await study.report(input, context.window);
        } catch (error) {
          throw refusalOf(error, 'study.report', onDefect);
        }
      }),
      whatIf: os.study.whatIf.handler(({ input, context }) => study.whatIf(input, context.window)),
    },
    trial: {
      preview: os.trial.preview.handler(({ input, context }) => trial.preview(input, context.window)),
      prepare: os.trial.prepare.handler(({ input, context }) => trial.prepare(input, context.window)),
      repeat: os.trial.repeat.handler(({ input, context }) => trial.repeat(input, context.window)),
      resume: os.trial.resume.handler(({ input, context }) => trial.resume(input, context.window)),
      command: os.trial.command.handler(({ input, context }) => trial.command(input, context.window)),
      answer: os.trial.answer.handler(({ input, context }) => trial.answer(input, context.window)),
      answerAfter: os.trial.answerAfter.handler(({ input, context }) => trial.answerAfter(input, context.window)),
      leave: os.trial.leave.handler(({ input, context }) => trial.leave(input, context.window)),
      result: os.trial.result.handler(({ input, context }) => trial.result(input, context.window)),
      explain: os.trial.explain.handler(({ input, context }) => trial.explain(input, context.window)),
      report: os.trial.report.handler(async function* ({ input, context }) {
        try {
          yield* await trial.report(input, context.window);
        } catch (error) {
          throw refusalOf(error, 'trial.report', onDefect);
        }
      }),
      assess: os.trial.assess.handler(({ input, context }) => trial.assess(input, context.window)),
      review: os.trial.review.handler(({ input, context }) => trial.review(input, context.window)),
      void: os.trial.void.handler(({ input, context }) => trial.void(input, context.window)),
      sign: os.trial.sign.handler(({ input, context }) => trial.sign(input, context.window)),
      difference: os.trial.difference.handler(({ input, context }) => trial.difference(input, context.window)),
    },
    replay: {
      open: os.replay.open.handler(({ input, context }) => replay.open(input, context.window)),
      change: os.replay.change.handler(({ input, context }) => replay.change(input, context.window)),
      close: os.replay.close.handler(({ input, context }) => replay.close(input, context.window)),
    },
    alarm: {
      acknowledge: os.alarm.acknowledge.handler(({ input, context }) => alarm.acknowledge(input, context.window)),
    },
  });
}
