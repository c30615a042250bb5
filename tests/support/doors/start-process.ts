import { parseOptions } from '../../../src/host/cli/command.ts';
import { startCommand } from '../../../src/host/cli/start.ts';
import { isChambersideError } from '../../../src/model/error-code.ts';
import { createTestHost } from './test-host.ts';

// `chamberside start` over the test host, as a process of its own: what it prints is all that a test gets to know.
const command = startCommand(async () => ({
  ...createTestHost().host,
  onAlone: () => () => undefined,
  close: async () => void process.stderr.write('the runtime has ended\n'),
}));
const output = {
  line: (text: string) => process.stdout.write(`${text}\n`),
  note: (text: string) => process.stderr.write(`${text}\n`),
  interactive: false,
};
try {
  process.exitCode = await command.run(parseOptions(command, process.argv.slice(2)), output);
} catch (error) {
  output.note(isChambersideError(error) ? `${error.code}: ${error.message}` : String(error));
  process.exitCode = 1;
}
