import type { CheckDefinition } from '../kind.ts';
import type { CheckStep } from '../step.ts';
import { figure, verdict } from '../vocabulary.ts';

/** An answer may come later than the stated movement by this much, s. */
const mostLateSeconds = 1;

/** Every position: does the valve go there, how long does it take, and does it say so when it is asked. */
export const valveCheck: CheckDefinition = {
  check: 'valve',
  validDays: 30,
  usesChallenge: false,
  subjects: () => [null],
  needs: (rig) => [rig.selectorValve],
  keeps: () => false,
  steps: (rig) =>
    [...rig.ports]
      .sort((one, other) => one.port - other.port)
      .flatMap(({ port }): CheckStep[] => [
        { step: 'select', part: `port-${port}`, port },
        { step: 'position', part: `port-${port}`, port },
      ]),
  evaluate(record, rig) {
    const faults: string[] = [];
    const answers: (number | null)[] = [];
    let confirmed = 0;
    const ports = [...rig.ports].sort((one, other) => one.port - other.port);
    for (const { port } of ports) {
      const of = (kind: 'select' | 'position') =>
        record.steps.find(({ step }) => step.step === kind && step.port === port) ?? null;
      const select = of('select');
      const said = of('position')?.valve?.port ?? null;
      const at = select?.valve?.confirmedAtMicroseconds ?? null;
      answers.push(select === null || at === null ? null : (at - select.beganAtMicroseconds) / 1e6);
      if (at !== null && said === port) confirmed += 1;
      else if (at === null) faults.push(`Port ${port} was not confirmed: ${select?.valve?.detail ?? 'not asked'}.`);
      else if (said === null) faults.push(`Port ${port}: it does not say where it stands.`);
      else faults.push(`Port ${port}: it says that it stands on ${said}.`);
    }
    const high = rig.valveSwitchingSeconds + mostLateSeconds;
    const came = answers.filter((answer) => answer !== null);
    return verdict(
      [
        figure('positions', confirmed, 'one', { low: ports.length }),
        figure('slowest-answer', came.length === 0 ? null : Math.max(...came), 's', { high }),
        ...ports.map(({ port }, index) => figure(`answer-${port}`, answers[index] ?? null, 's', { high })),
      ],
      `Every position is read back, ${mostLateSeconds} s after its movement of ${rig.valveSwitchingSeconds} s at most.`,
      faults,
    );
  },
};
