import { isChambersideError } from '../../model/error-code.ts';
import { createHostRuntime } from '../runtime/create-host-runtime.ts';
import { programVersion } from '../version.ts';
import { askPin } from './ask-pin.ts';
import { assessCommand } from './assess.ts';
import { commandHelp, parseOptions, type Command, type ExitCode, type Output } from './command.ts';
import { exportCommand } from './export.ts';
import { explainCommand } from './explain.ts';
import { importCommand } from './import.ts';
import { judgeCommand } from './judge.ts';
import { peopleCommand } from './people.ts';
import { portsCommand } from './ports.ts';
import { rehearseCommand } from './rehearse.ts';
import { reportCommand } from './report.ts';
import { replayCommand } from './replay.ts';
import { responseCommand } from './response.ts';
import { startCommand } from './start.ts';
import { verifyCommand } from './verify.ts';

const commands: readonly Command[] = [
  startCommand(createHostRuntime),
  rehearseCommand,
  assessCommand,
  explainCommand,
  judgeCommand,
  reportCommand,
  exportCommand,
  importCommand,
  verifyCommand,
  replayCommand,
  responseCommand,
  portsCommand,
  peopleCommand((prompt) => askPin(prompt, { input: process.stdin, write: (text) => void process.stderr.write(text) })),
];

function overview(): string {
  const width = Math.max(...commands.map((command) => command.name.length));
  return [
    `chamberside ${programVersion}: inward-leakage trials of protective clothing`,
    '',
    'usage: npx --no-install chamberside COMMAND [options]',
    '',
    ...commands.map((command) => `  ${command.name.padEnd(width)}  ${command.summary}`),
    '',
    'Every command takes --json and --help. Exit status: 0 good, 1 it ran and found something bad, 2 wrong usage.',
  ].join('\n');
}

/** Runs one command line. Never throws; what is wrong is said on standard error. */
export async function runCommandLine(words: readonly string[], output: Output): Promise<ExitCode> {
  const [name, ...rest] = words;
  if (name === undefined || name === '--help' || name === '-h' || name === 'help') {
    const about = commands.find((candidate) => candidate.name === rest[0]);
    output.line(name === 'help' && about !== undefined ? commandHelp(about) : overview());
    return name === undefined ? 2 : 0;
  }
  if (name === '--version') {
    output.line(programVersion);
    return 0;
  }
  const command = commands.find((candidate) => candidate.name === name);
  if (command === undefined) {
    output.note(
      `There is no command ${JSON.stringify(name)}. Commands: ${commands.map((entry) => entry.name).join(', ')}.`,
    );
    return 2;
  }
  try {
    const values = parseOptions(command, rest);
    if (values.help) {
      output.line(commandHelp(command));
      return 0;
    }
    return await command.run(values, output);
  } catch (error) {
    if (isChambersideError(error)) {
      output.note(`${error.code}: ${error.message}`);
      return error.code.startsWith('usage-') ? 2 : 1;
    }
    output.note(`internal: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`);
    return 1;
  }
}
