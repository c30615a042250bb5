import { certifiedRig } from '../leakage/certified.ts';
import { checksSection } from './checks-section.ts';
import { cautionsSection, happeningsSection, proofSection, traceSection } from './closing-sections.ts';
import { configurationSection, identificationSection, peopleSection, seriesSection } from './configuration-sections.ts';
import { doubtSection } from './doubt-section.ts';
import type { ReportDocument, Words } from './document.ts';
import { cleanText, given, wire, words } from './document.ts';
import { firstPage } from './first-page.ts';
import { breathSection } from './breath-section.ts';
import { heartSection } from './heart-section.ts';
import { methodSection } from './method-section.ts';
import { receivedSection } from './received-section.ts';
import { resultsSection } from './results-section.ts';
import { reviewSection } from './review-section.ts';
import { signatureSection } from './signature-section.ts';
import type { ReportSource } from './source.ts';
import { tellExercises, tellGaps } from './story.ts';
import { voidedBy, voidingSection } from './voiding-section.ts';
import { reportWords } from './words.ts';

/**
 * The report of one sealed trial and one of its assessments. Pure: no clock, no place, no order but that of the record.
 */
export function trialReport(source: ReportSource): ReportDocument {
  const { record, assessment, seal, endMicroseconds } = source;
  const { header, rig } = record;
  const exercises = tellExercises(record);
  const gaps = tellGaps(record, endMicroseconds);
  const { method } = assessment;
  const linearity = certifiedRig(rig, header.certificates).linearity?.value;
  const breathing = rig.ports.some((port) => port.breathingZone === true) && method.applyBreathingZone !== false;
  const heart = heartSection(source, exercises);
  const breath = breathSection(source, exercises);
  const review = reviewSection(source);
  const voiding = voidingSection(source);
  const ofVoid = voidedBy(source) === null ? '' : 'VOID. ';
  const signed = signatureSection(source);
  const decidedAt = [...source.voidings, ...source.signatures].map(({ createdAt }) => createdAt);
  const title = cleanText(`How much leaks into ${header.ensemble}`);
  const heads = [
    `trial ${header.trial}`,
    `head ${seal.head.slice(0, 16)}`,
    `assessment ${assessment.digest.slice(0, 16)}`,
  ];
  const foot: Words[] = [
    [
      ...words`Made with Chamberside ${source.program}, method “${given(method.name)}” version ${method.version}, `,
      ...words`rig version ${rig.version}`,
    ],
    [wire(heads.join(' · '))],
  ];
  return {
    language: 'en',
    title,
    about: cleanText(`Inward leakage, trial ${header.trial}, subject ${header.subject}, study ${source.study.name}`),
    maker: `Chamberside ${source.program}`,
    dated: [assessment.createdAt, seal.at, ...decidedAt].sort().at(-1) ?? seal.at,
    virtual: header.virtual ? reportWords.virtualShort : null,
    head: words`${ofVoid}Trial of ${given(header.ensemble)} with subject ${given(header.subject)}`,
    foot,
    sections: [
      firstPage(source, gaps),
      ...(voiding === null ? [] : [voiding]),
      identificationSection(source),
      configurationSection(source),
      peopleSection(source),
      checksSection(source),
      seriesSection(source, exercises),
      resultsSection(source),
      ...(review === null ? [] : [review]),
      ...(signed === null ? [] : [signed]),
      doubtSection(source),
      ...(heart === null ? [] : [heart]),
      ...(breath === null ? [] : [breath]),
      traceSection(source, exercises, gaps),
      happeningsSection(source, gaps),
      receivedSection(source),
      methodSection(method, isPlanned(source), assessment.details.timeConstant, linearity, breathing),
      cautionsSection(source),
      proofSection(source),
    ],
  };
}

/** Is the assessment by the method that was frozen with the trial? Held by its digest. */
function isPlanned({ assessment, frozen }: ReportSource): boolean {
  const planned = frozen.find(({ part }) => part === 'method');
  return planned === undefined || planned.digest === assessment.methodDigest;
}
