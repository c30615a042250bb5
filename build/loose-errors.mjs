/**
 * A reporter of the test runner for what no test owns: a rejection nobody waited for, an error thrown after its test,
 * a worker that died. The runner's JSON report leaves them out, though they fail the run.
 */
import { writeFileSync } from 'node:fs';

export const looseErrorsVariable = 'CHAMBERSIDE_LOOSE_ERRORS';

/**
 * The parts of a runner's error that are told.
 * @typedef {object} LooseError
 * @property {string} [message]
 * @property {string} [stack]
 * @property {string} [type] what the runner calls it, 'Unhandled Rejection' for one
 * @property {string} [VITEST_TEST_PATH] the file that ran meanwhile
 * @property {string} [VITEST_TEST_NAME] the test that ran meanwhile
 */

export default class LooseErrors {
  /** @param {readonly unknown[]} _modules @param {readonly LooseError[]} errors */
  onTestRunEnd(_modules, errors) {
    const path = process.env[looseErrorsVariable];
    if (path === undefined) return;
    writeFileSync(path, `${JSON.stringify(errors.map(described), null, 2)}\n`);
  }
}

/** @param {LooseError} error */
function described(error) {
  const where = [error.VITEST_TEST_PATH, error.VITEST_TEST_NAME].filter((part) => part !== undefined);
  return {
    kind: error.type ?? 'error',
    during: where.join(' > '),
    message: error.message ?? 'no message',
    stack: error.stack ?? '',
  };
}
