import type { ReactElement } from 'react';
import { useState } from 'react';
import type { ReportFormat } from '../../src/bridge/report-part.ts';
import type { ReportProgress } from '../app/receive-report.ts';
import { Button } from '../ui/button.tsx';
import { FailureBlock } from '../ui/failure-block.tsx';
import type { Outcome } from '../ui/use-perform.ts';
import { usePerform } from '../ui/use-perform.ts';
import { reportWords } from '../words/report.ts';

export type SaveReport = (
  format: ReportFormat,
  onProgress: (progress: ReportProgress) => void,
) => Promise<Outcome<{ readonly name: string }>>;

/** Saves the report of a sealed and assessed trial, and says how far it has come. */
export function ReportBox({ save }: { readonly save: SaveReport }): ReactElement {
  const { busy, failure, perform } = usePerform();
  const [progress, setProgress] = useState<ReportProgress | null>(null);
  const [saved, setSaved] = useState<string | null>(null);
  const begin = (format: ReportFormat): void => {
    setSaved(null);
    setProgress(null);
    perform(
      () => save(format, setProgress),
      ({ name }) => setSaved(name),
    );
  };
  const said = busy ? reportWords.progress(progress) : saved === null ? '' : reportWords.saved(saved);
  return (
    <div className="report-box">
      <span className="report-word" role="status">
        {said}
      </span>
      <Button small disabled={busy} onPress={() => begin('pdf')}>
        {reportWords.pdf}
      </Button>
      <Button small disabled={busy} onPress={() => begin('html')}>
        {reportWords.page}
      </Button>
      {failure !== null && !busy && <FailureBlock failure={failure} />}
    </div>
  );
}
