import type { ReportFormat, ReportPart } from '../../bridge/report-part.ts';
import type { Computer } from '../compute/computer.ts';
import { studyEnding } from '../compute/study-jobs.ts';
import { programVersion } from '../version.ts';
import { studyPath } from './folder.ts';
import { reportParts } from './report-parts.ts';

/** Reports of trials and of studies of the folder, made by a computer of their own. */
export function reportProcedures(reporting: Computer, folder: string) {
  const program = programVersion;
  return {
    async ofTrial({ file, trial, format }: Asked & { readonly trial: string }): Promise<Parts> {
      const request = { path: studyPath(folder, file), trial, format, assessment: null, program };
      return reportParts((onStep) => reporting.do('report', request, onStep), `${trial}.${format}`);
    },
    /** Against the limits of its plans. */
    async ofStudy({ file, format }: Asked): Promise<Parts> {
      const request = { path: studyPath(folder, file), format, program, requirement: null };
      const name = `${file.slice(0, -studyEnding.length)}.${format}`;
      return reportParts((onStep) => reporting.do('study-report', request, onStep), name);
    },
  };
}

interface Asked {
  readonly file: string;
  readonly format: ReportFormat;
}

type Parts = AsyncGenerator<ReportPart, void, undefined>;
