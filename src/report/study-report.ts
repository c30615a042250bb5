import { requirementStandings } from '../study/requirement-standing.ts';
import { summariseStudy, usualQuestions } from '../study/study-summary.ts';
import type { ReportDocument, Section } from './document.ts';
import { cleanText, given, textOf, wire, words } from './document.ts';
import { isVirtual, studyFirstPage, titleWords } from './study-first-page.ts';
import {
  methodsSection,
  rosterSection,
  studyCautionsSection,
  studyProofSection,
  studySignatureSection,
} from './study-roster.ts';
import { ensemblesSection, knowSection, limitsSection, ratiosSection, scatterSection } from './study-sections.ts';
import type { StudyReportSource } from './study-source.ts';
import { reportWords } from './words.ts';

/** The report of a whole study. Pure: no clock, no place, no order but that of the record. */
export function studyReport(source: StudyReportSource): ReportDocument {
  const { study, trials, requirement, sealHead, program } = source;
  const summary = summariseStudy(trials, usualQuestions);
  const standings =
    requirement === null
      ? []
      : requirementStandings(requirement, trials, summary.roster, summary.questions.confidence);
  const label = (probe: string | null): string =>
    probe === null ? 'Whole trial' : (source.probes.find((one) => one.probe === probe)?.label ?? probe);
  const virtual = isVirtual(summary);
  const know = knowSection(summary);
  const ratios = ratiosSection(summary, label);
  const limits = limitsSection(summary, requirement, standings);
  const sections: Section[] = [
    studyFirstPage(source, summary, standings),
    ...(know === null ? [] : [know]),
    ...(summary.counts.counted === 0
      ? []
      : [{ ...ensemblesSection(source, summary, label), joined: know !== null }]),
    ...(ratios === null ? [] : [ratios]),
    ...(limits === null ? [] : [limits]),
    ...(summary.counts.counted === 0 ? [] : [scatterSection(summary)]),
    rosterSection(summary),
    studySignatureSection(source),
    methodsSection(source, summary),
    studyCautionsSection(virtual),
    studyProofSection(source),
  ];
  return {
    language: 'en',
    title: cleanText(textOf(titleWords(source, summary.ensembles))),
    about: cleanText(`Inward leakage, study ${study.name}, ${trials.length} trials`),
    maker: `Chamberside ${program}`,
    dated: datesOf(source).sort().at(-1) ?? study.createdAt,
    virtual: virtual ? reportWords.virtualShort : null,
    head: words`Study “${given(study.name)}”`,
    foot: [
      words`Made with Chamberside ${program} from the assessments that count`,
      [wire(`study ${study.study} · head of the seals ${sealHead.slice(0, 16)}`)],
    ],
    sections,
  };
}

function datesOf({ study, trials, signatures, voidings }: StudyReportSource): string[] {
  return [
    study.createdAt,
    ...trials.flatMap(({ createdAt, seal, assessment }) => [
      createdAt,
      ...(seal === null ? [] : [seal.at]),
      ...(assessment === null ? [] : [assessment.createdAt]),
    ]),
    ...[...signatures, ...voidings].map(({ createdAt }) => createdAt),
  ];
}
