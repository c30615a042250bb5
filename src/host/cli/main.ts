import { ChambersideError, isChambersideError } from '../../model/error-code.ts';
import { knownFileSystemError, isFileSystemFailure } from '../file-error.ts';
import { createHostRuntime } from '../runtime/create-host-runtime.ts';
import { programVersion } from '../version.ts';
import { askPin } from './ask-pin.ts';
import { assessCommand } from './assess.ts';
import { auditCommand } from './audit.ts';
import { commandHelp, parseOptions, type Command, type ExitCode, type Output } from './command.ts';
import { compareCommand } from './compare.ts';
import { differenceCommand } from './difference.ts';
import { demoCommand } from './demo.ts';
import { exportCommand } from './export.ts';
import { explainCommand } from './explain.ts';
import { importCommand } from './import.ts';
import { instrumentsCommand } from './instruments.ts';
import { methodsCommand } from './methods.ts';
import { judgeCommand } from './judge.ts';
import { laboratoryKeyCommand } from './laboratory-key.ts';
import { peopleCommand } from './people.ts';
import { portsCommand } from './ports.ts';
import { rehearseCommand } from './rehearse.ts';
import { reportCommand } from './report.ts';
import { replayCommand } from './replay.ts';
import { responseCommand } from './response.ts';
import { rigCommand } from './rig.ts';
import { seriesCommand } from './series.ts';
import { signCommand } from './sign.ts';
import { startCommand } from './start.ts';
import { studyPlanCommand } from './study-plan.ts';
import { studyReportCommand } from './study-report.ts';
import { verifyCommand } from './verify.ts';
import { voidCommand } from './void.ts';
import { wireCommand } from './wire.ts';

const ask = (prompt: string, known: boolean): Promise<string> =>
  askPin(prompt, { input: process.stdin, write: (text) => void process.stderr.write(text) }, known);

const commands: readonly Command[] = [
  startCommand(createHostRuntime),
  rehearseCommand,
  demoCommand,
  assessCommand((prompt) => ask(prompt, true)),
  differenceCommand,
  voidCommand((prompt) => ask(prompt, true)),
  signCommand((prompt) => ask(prompt, true)),
  explainCommand,
  methodsCommand,
  rigCommand,
  seriesCommand,
  judgeCommand,
  studyPlanCommand,
  compareCommand,
  reportCommand,
  studyReportCommand,
  exportCommand,
  importCommand,
  verifyCommand,
  auditCommand,
  replayCommand,
  responseCommand,
  portsCommand,
  wireCommand,
  instrumentsCommand((prompt) => ask(prompt, true)),
  laboratoryKeyCommand,
  peopleCommand((prompt) => ask(prompt, false)),
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
    'With --json an error is one object on standard output: {"error":{"code","what","where","todo"}}.',
  ].join('\n');
}

/**
 * Runs one command line. Never throws; what is wrong is said on standard error, and with `--json` as one object on
 * standard output as well.
 */
export async function runCommandLine(words: readonly string[], output: Output): Promise<ExitCode> {
  const [name, ...rest] = words;
  if (name === undefined || name === '--help' || name === '-h' || name === 'help') {
    const about = commands.find((candidate) => candidate.name === rest[0]);
    output.line(name === 'help' && about !== undefined ? commandHelp(about) : overview());
    return name === undefined ? 2 : 0;
  }
  if (name === '--version') {
    output.line(rest.includes('--json') ? JSON.stringify({ version: programVersion }) : programVersion);
    return 0;
  }
  // Asked of the words themselves: they may be what is wrong.
  const json = words.some((word) => word === '--json' || word.startsWith('--json='));
  const sayAsData = (error: ChambersideError): void => {
    const { code, what, where, remedy: todo } = error;
    if (json) output.line(JSON.stringify({ error: { code, what, where, todo } }));
  };
  const command = commands.find((candidate) => candidate.name === name);
  if (command === undefined) {
    const what = `There is no command ${JSON.stringify(name)}`;
    const remedy = `Commands: ${commands.map((entry) => entry.name).join(', ')}.`;
    output.note(`${what}. ${remedy}`);
    sayAsData(new ChambersideError('usage-unknown-command', what, 'chamberside', remedy));
    return 2;
  }
  try {
    const values = parseOptions(command, rest);
    if (values.help) {
      output.line(commandHelp(command));
      return 0;
    }
    return await command.run(values, output);
  } catch (caught) {
    const ofFile = isFileSystemFailure(caught) ? knownFileSystemError(caught, caught.path ?? command.name) : null;
    const error = ofFile ?? caught;
    if (isChambersideError(error)) {
      output.note(`${error.code}: ${error.message}`);
      sayAsData(error);
      return error.code.startsWith('usage-') ? 2 : 1;
    }
    output.note(`internal: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`);
    const what = error instanceof Error ? error.message : String(error);
    sayAsData(new ChambersideError('internal', what, `chamberside ${name}`, 'Report this.', error));
    return 1;
  }
}
