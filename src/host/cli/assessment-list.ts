import type { Assessment } from '../../leakage/assessment.ts';
import { castsDoubt } from '../../leakage/flag.ts';
import type { Flag } from '../../leakage/flag.ts';
import { stretchInWords, takenInWords } from '../../leakage/left-out-words.ts';
import { readAssessments, releaseOf } from '../store/assessments.ts';
import type { AssessmentDocument } from '../store/assessments.ts';
import type { Output } from './command.ts';
import { formatPercent, formatTable } from './table.ts';

/** Prints every assessment of a trial, oldest first; the last one is the one that counts unless another is chosen. */
export function listOfAssessments(study: string, trial: string, json: boolean, output: Output): void {
  const all = readAssessments(study, trial);
  if (json) {
    output.line(JSON.stringify({ trialId: trial, assessments: all.map(rowOf) }));
    return;
  }
  if (all.length === 0) {
    output.line('The trial has not been assessed.');
    return;
  }
  const headings = ['', 'assessment', 'made', 'program', 'method', 'by', 'mean, %', 'in doubt'];
  const columns = headings.map((heading, index) => ({
    heading,
    align: index === 0 || index > 5 ? ('right' as const) : ('left' as const),
  }));
  const rows = all.map(rowOf);
  output.line(
    formatTable(
      columns,
      rows.map((row) => [
        String(row.number),
        row.assessmentId,
        row.createdAt.slice(0, 19),
        row.program,
        `${row.method.name} version ${row.method.version}`,
        row.review?.person ?? '–',
        formatPercent(row.overallPercent),
        `${row.cellsFlagged} of ${row.cells}`,
      ]),
    ),
  );
  for (const { leftOut, number, review } of rows) {
    if (review === null) continue;
    output.line(`${number}: ${review.person}: ${review.reason}`);
    for (const one of leftOut) output.line(`   left out ${stretchInWords(one)} (${takenInWords(one)}): ${one.reason}`);
  }
  const release = releaseOf(study, trial);
  const place = release === null ? rows.length : rows.findIndex((row) => row.assessmentId === release.assessment) + 1;
  const which = release === null ? 'The newest' : `The one that ${release.person} released`;
  output.line(`${which}, ${place}, is the one that result, report, judge and export take.`);
}

function rowOf(document: AssessmentDocument, index: number) {
  const { assessment, cells, createdAt, method, program, review } = document;
  // Stored by an older program, or by another one: not everything need be there.
  const details = document.details as Partial<Assessment> | null;
  return {
    number: index + 1,
    assessmentId: assessment,
    createdAt,
    program,
    method: { name: method.name, version: method.version },
    review: review === undefined ? null : { person: review.person, reason: review.reason },
    leftOut: details?.leftOut ?? [],
    overallPercent: details?.overall?.windowPercent ?? null,
    cells: cells.length,
    cellsFlagged: cells.filter(({ flags }) => castsDoubt(flags as readonly Flag[])).length,
  };
}
