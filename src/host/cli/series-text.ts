import type { Rig } from '../../model/rig.ts';
import type { Series } from '../../model/series.ts';
import { toSeconds } from '../../model/time.ts';
import { compileSchedule } from '../../series/compile.ts';
import { remarkWords } from '../../series/remark-words.ts';
import { seriesRemarks } from '../../series/remarks.ts';
import type { SeriesTemplate } from '../../series/templates.ts';
import { predictUsableSeconds } from '../../series/usable.ts';
import type { UsableOptions } from '../../series/usable.ts';
import { formatTable } from './table.ts';

/** What a series rests on; null: somebody's own. */
type Mark = SeriesTemplate['mark'] | null;

const markTexts: Readonly<Record<SeriesTemplate['mark'], string>> = {
  own: 'program, own',
  secondary: 'program, after a public text (secondary)',
  memory: 'program, after a public text (from memory)',
};

function markText(mark: Mark): string {
  return mark === null ? 'laboratory' : markTexts[mark];
}

export function seriesListText(rows: readonly { readonly series: Series; readonly mark: Mark }[]): string[] {
  const table = formatTable(
    [
      { heading: 'series', align: 'left' },
      { heading: 'version', align: 'right' },
      { heading: 'exercises', align: 'right' },
      { heading: 'of', align: 'left' },
    ],
    rows.map(({ mark, series: { exercises, name, version } }) => [
      ...[name, String(version), String(exercises.length), markText(mark)],
    ]),
  );
  return table.split('\n');
}

/** A series as it would run on a rig, with what speaks against it. */
export function seriesText(
  { mark, series }: { readonly series: Series; readonly mark: Mark },
  rig: Rig,
  options: UsableOptions,
): string[] {
  const remarks = seriesRemarks(series, rig, options);
  const possible = !remarks.some(({ kind }) => kind === 'not-for-rig');
  return [
    `${series.name}, version ${series.version} (${markText(mark)})`,
    series.source,
    '',
    ...(possible ? timed(series, rig, options) : []),
    ...(remarks.length === 0 ? ['Nothing speaks against it.'] : remarks.map((remark) => `! ${remarkWords(remark)}`)),
  ];
}

function timed(series: Series, rig: Rig, options: UsableOptions): string[] {
  const schedule = compileSchedule(series, rig);
  const usable = predictUsableSeconds(schedule, rig, options);
  const rows = series.exercises.map((exercise, exerciseIndex) => {
    const own = schedule.steps.filter((step) => step.exerciseIndex === exerciseIndex && step.purpose === 'probe');
    const least = Math.min(...own.map((step) => usable[step.step] ?? 0));
    return [
      exercise.name,
      String(exercise.restSeconds),
      String(exercise.leadInSeconds),
      String(exercise.durationSeconds),
      toSeconds(Math.min(...own.map((step) => step.durationMicroseconds))).toFixed(1),
      least.toFixed(1),
      own.map(({ probe }) => probe).join(', '),
    ];
  });
  const table = formatTable(
    [
      { heading: 'exercise', align: 'left' },
      ...['rest s', 'lead-in s', 'length s', 'dwell s', 'usable s'].map((heading) => ({
        ...{ heading, align: 'right' as const },
      })),
      { heading: 'order of the probes', align: 'left' },
    ],
    rows,
  );
  const minutes = toSeconds(schedule.durationMicroseconds) / 60;
  return [`${minutes.toFixed(1)} min on ${rig.name}, version ${rig.version}`, '', ...table.split('\n'), ''];
}
