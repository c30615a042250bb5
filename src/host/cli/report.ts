import { extname } from 'node:path';
import { reportFormatSchema, type ReportFormat, type ReportStep } from '../../bridge/report-part.ts';
import { ChambersideError, isChambersideError } from '../../model/error-code.ts';
import { makeReport } from '../report/make-report.ts';
import { refuseBeforeWork, saveReport } from '../report/save-report.ts';
import { describeTrials } from '../store/trial-states.ts';
import { readTrialSummary } from '../store/read.ts';
import { programVersion } from '../version.ts';
import { noteVoid } from './note-void.ts';
import type { Command } from './command.ts';

const stepWords: Readonly<Record<ReportStep, string>> = {
  walking: 'Walking the chains of the trials',
  reading: 'Reading the trial and walking its chain',
  composing: 'Composing the report',
  setting: 'Setting the pages',
};

export const reportCommand: Command = {
  name: 'report',
  summary: 'make a document of a sealed trial, as PDF or as one HTML file',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'trial', value: 'ID', help: 'a sealed and assessed trial', required: true },
    {
      name: 'out',
      value: 'FILE',
      help: 'file to write, ending in .pdf or .html, in a folder that is there',
      required: true,
    },
    { name: 'assessment', value: 'ID', help: 'which of its assessments, default the released one, else the newest' },
    { name: 'replace', value: null, help: 'write over the file if it is there' },
  ],
  notes: [
    'The same study, trial, assessment and program give the same file, byte for byte. The study is only read.',
    'Exit status 0: the file is written. 1: the trial cannot be reported or the file not written, and it says why.',
  ],
  async run(values, output) {
    const study = values.text('study');
    const trial = values.text('trial');
    const out = values.text('out');
    const format = reportFormatOf(out);
    const replace = values.has('replace');
    refuseBeforeWork(out, replace);
    const request = {
      path: study,
      trial,
      assessment: values.optional('assessment') ?? null,
      format,
      program: programVersion,
    };
    const report = await makeReport(request, (step) => {
      if (output.interactive) output.note(`${stepWords[step]} …`);
    }).catch((error: unknown) => {
      throw withTrials(error, study);
    });
    saveReport(out, report.bytes, replace);
    noteVoid(readTrialSummary(study, trial), output);
    if (values.json) {
      const { bytes, ...said } = report;
      output.line(JSON.stringify({ file: out, format, bytes: bytes.length, trialId: trial, ...said }));
    } else {
      if (report.virtual) output.line('VIRTUAL RIG: no result of a real ensemble.');
      output.line(`${out}: ${report.bytes.length} bytes, report ${report.documentDigest.slice(0, 16)}`);
    }
    return 0;
  },
};

/** @throws ChambersideError `usage-bad-value` for any other ending. */
export function reportFormatOf(out: string): ReportFormat {
  const ending = extname(out).slice(1).toLowerCase();
  const format = reportFormatSchema.options.find((candidate) => candidate === ending);
  if (format !== undefined) return format;
  throw new ChambersideError(
    'usage-bad-value',
    `${JSON.stringify(out)} is not a report`,
    '--out',
    `End it in ${reportFormatSchema.options.map((name) => `.${name}`).join(' or ')}.`,
  );
}

/** A trial that is not there: those that are. */
function withTrials(error: unknown, study: string): unknown {
  if (!isChambersideError(error, 'trial-not-found') || !error.what.startsWith('The study')) return error;
  return new ChambersideError(error.code, error.what, study, describeTrials(study), error);
}
