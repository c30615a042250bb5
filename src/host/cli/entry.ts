import { runCommandLine } from './main.ts';

const output = {
  line: (text: string) => process.stdout.write(`${text}\n`),
  note: (text: string) => process.stderr.write(`${text}\n`),
  interactive: process.stderr.isTTY === true,
};

// A reader that closes the pipe early (`| head`) is not an error of ours.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code === 'EPIPE') process.exit(0);
  throw error;
});

process.exitCode = await runCommandLine(process.argv.slice(2), output);
