import type { ReportProgress } from '../app/receive-report.ts';

const stages = {
  reading: 'Reading the trial and walking its chain',
  composing: 'Composing the report',
  setting: 'Setting the pages',
} as const;

export const reportWords = {
  pdf: 'Report PDF',
  page: 'Report HTML',
  progress: (progress: ReportProgress | null): string => {
    if (progress === null) return stages.reading;
    return progress.stage === 'arriving' ? `Saving, ${Math.round(100 * progress.share)} %` : stages[progress.stage];
  },
  saved: (name: string): string => `Saved as ${name}`,
};
