import type { ReportStep } from '../../bridge/report-part.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { makeStudyReport } from '../report/make-study-report.ts';
import { refuseBeforeWork, saveReport } from '../report/save-report.ts';
import { programVersion } from '../version.ts';
import { requirementFile, requirementNamed } from './chosen-requirement.ts';
import type { Command } from './command.ts';
import { reportFormatOf } from './report.ts';

const stepWords: Readonly<Record<ReportStep, string>> = {
  walking: 'Walking the chains of the trials',
  reading: 'Reading the study',
  composing: 'Composing the report',
  setting: 'Setting the pages',
};

export const studyReportCommand: Command = {
  name: 'study-report',
  summary: 'make a document of a whole study, as PDF or as one HTML file',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    {
      name: 'out',
      value: 'FILE',
      help: 'file to write, ending in .pdf or .html, in a folder that is there',
      required: true,
    },
    { name: 'requirement', value: 'NAME', help: 'one that ships (see `judge`), beside the limits of the plans' },
    { name: 'file', value: 'FILE', help: 'a requirement of your own instead, as JSON' },
    { name: 'replace', value: null, help: 'write over the file if it is there' },
  ],
  notes: [
    'The same study, requirement and program give the same file, byte for byte. The study is only read, and all of it',
    'is verified first. docs/guides/study-report.md says what stands in it.',
    'Exit status 0: the file is written. 1: the study cannot be reported or the file not written, and it says why.',
  ],
  async run(values, output) {
    const study = values.text('study');
    const out = values.text('out');
    const format = reportFormatOf(out);
    const replace = values.has('replace');
    const [name, file] = [values.optional('requirement'), values.optional('file')];
    if (name !== undefined && file !== undefined) {
      const todo = 'See: npx --no-install chamberside study-report --help';
      throw new ChambersideError('usage-unknown-option', '--requirement and --file exclude each other', '--file', todo);
    }
    const requirement = name !== undefined ? requirementNamed(name) : file !== undefined ? requirementFile(file) : null;
    refuseBeforeWork(out, replace);
    let before: ReportStep | null = null;
    const report = await makeStudyReport({ path: study, format, program: programVersion, requirement }, (step) => {
      if (output.interactive && step !== before) output.note(`${stepWords[step]} …`);
      before = step;
    });
    saveReport(out, report.bytes, replace);
    if (values.json) {
      const { bytes, ...said } = report;
      output.line(JSON.stringify({ file: out, format, bytes: bytes.length, ...said }));
    } else {
      if (report.virtual) output.line('VIRTUAL RIG: no result of a real ensemble.');
      const trials = `${report.counted} of ${report.trials} trials in the figures`;
      output.line(`${out}: ${report.bytes.length} bytes, ${trials}, report ${report.documentDigest.slice(0, 16)}`);
    }
    return 0;
  },
};
