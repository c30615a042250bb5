import { hash } from 'node:crypto';
import type { ReportFormat, ReportStep } from '../../bridge/report-part.ts';
import type { ReportDocument } from '../../report/document.ts';
import { reportHtml } from '../../report/html.ts';
import { trialReport } from '../../report/trial-report.ts';
import { canonicalJson } from '../store/canonical-json.ts';
import { sha256, toHexadecimal } from '../store/digest.ts';
import { pageFonts } from './fonts.ts';
import { readReportSource } from './read-source.ts';

export interface ReportRequest {
  /** Path of the study file. */
  readonly path: string;
  readonly trial: string;
  /** Null: the newest. */
  readonly assessment: string | null;
  readonly format: ReportFormat;
  /** Version of this program. */
  readonly program: string;
}

export interface MadeReport {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly title: string;
  readonly assessment: string;
  readonly virtual: boolean;
  /** Of the document before it takes a form, hexadecimal: equal for the PDF and the page of one trial. */
  readonly documentDigest: string;
}

/**
 * Makes the report of a sealed trial. The same study, trial, assessment and program give the same bytes, whenever and
 * wherever it is made. Errors as `readReportSource`.
 */
export async function makeReport(
  request: ReportRequest,
  onStep: (step: ReportStep) => void = () => undefined,
): Promise<MadeReport> {
  onStep('reading');
  const source = readReportSource(request.path, request.trial, request.assessment, request.program);
  onStep('composing');
  const document = trialReport(source);
  const documentDigest = toHexadecimal(sha256(canonicalJson(document)));
  onStep('setting');
  const bytes = await setDocument(document, documentDigest, request.format);
  return {
    bytes,
    title: document.title,
    assessment: source.assessment.assessment,
    virtual: document.virtual !== null,
    documentDigest,
  };
}

/** A document in the form that is asked for. */
export function setDocument(
  document: ReportDocument,
  documentDigest: string,
  format: ReportFormat,
): Promise<Uint8Array<ArrayBuffer>> {
  return format === 'pdf' ? setPdf(document, documentDigest) : Promise.resolve(setPage(document, documentDigest));
}

function setPage(document: ReportDocument, documentDigest: string): Uint8Array<ArrayBuffer> {
  const html = reportHtml(document, {
    fonts: pageFonts(),
    sha256: (text) => hash('sha256', text, 'base64'),
    documentDigest,
  });
  return new TextEncoder().encode(html);
}

/** Loaded when it is needed: what sets pages takes a while to load. */
async function setPdf(document: ReportDocument, documentDigest: string): Promise<Uint8Array<ArrayBuffer>> {
  const { reportPdf } = await import('./pdf.ts');
  return reportPdf(document, documentDigest);
}
