import { findDriver, parseSettings } from '../../../drivers/registry.ts';
import type { Clock } from '../../device/timers.ts';
import { putsLoad } from '../../model/rig.ts';
import type { Rig } from '../../model/rig.ts';
import type { GuardAct, GuardReport, GuardedTrial } from '../../safety/guard/messages.ts';
import { guardDuties } from '../guard/duties.ts';
import { createGuardLink } from '../guard/guard-link.ts';
import type { GuardLink } from '../guard/guard-link.ts';
import type { LeftReports } from '../guard/left-guards.ts';

export interface GuardDeskOptions {
  readonly folder: string;
  readonly clock: Clock;
  /** What the guards of an earlier host did. */
  readonly left: LeftReports;
  /** The guard is gone: loads are not watched until it is back. */
  readonly onLost: (detail: string) => void;
  readonly onWatching: () => void;
  /** A report that belongs to the trial under way: it is to be recorded there. */
  readonly onRecord: (detail: string) => void;
  readonly onChange: () => void;
}

/** The guard of the open rig, and what guards did that nobody has recorded yet. */
export interface GuardDesk {
  /** The guard of a rig that is being opened; null where nothing is to be guarded. It starts with the first line. */
  begin(rig: Rig): GuardLink | null;
  /** What a person should know of an instrument, each a sentence. */
  remarks(configuration: Rig['instruments'][number]): string[];
  /** The trial that is recorded now, or none: what was done about it is recorded. */
  setTrial(trial: GuardedTrial | null): void;
}

type Configuration = Rig['instruments'][number];

function ownTimeoutSeconds({ dialect, instrument, kind, settings }: Configuration): number | null {
  const manifest = findDriver(kind, dialect);
  return manifest.ownTimeoutSeconds?.(parseSettings(manifest, instrument, settings)) ?? null;
}

function wordsOf({ acknowledgedAfterMilliseconds: after, failure, tries, what }: GuardAct): string {
  const tried = tries === 1 ? '' : ` at try ${tries}`;
  if (after !== null) return `${what}, acknowledged${tried} after ${Math.round(after)} ms`;
  return `${what}, NOT ACKNOWLEDGED in ${tries} ${tries === 1 ? 'try' : 'tries'} (${failure ?? 'no reason given'})`;
}

/** What a guard did, as a sentence. */
export function guardReportWords({ acts, at, done, why }: GuardReport): string {
  const did = acts.length === 0 ? 'no instrument was open' : acts.map(wordsOf).join('; ');
  const said = done ? did : 'it ended before it had finished';
  return `At ${at.slice(0, 19).replace('T', ' ')} UTC the guard took the loads because ${why}: ${said}.`;
}

export function createGuardDesk(options: GuardDeskOptions): GuardDesk {
  /** Not recorded in a trial yet, by name. */
  const pending = new Map<string, GuardReport>(options.left.reports.map((report) => [report.report, report]));
  let link: GuardLink | null = null;
  let lost: string | null = null;
  let trial: GuardedTrial | null = null;

  const record = (report: GuardReport): void => {
    pending.delete(report.report);
    options.onRecord(guardReportWords(report));
    link?.noted([report.report]);
    options.left.forget(report.report);
  };
  const deliver = (): void => {
    for (const report of [...pending.values()]) {
      if (trial !== null && report.trial?.trial === trial.trial) record(report);
    }
  };

  return {
    begin(rig) {
      const duties = guardDuties(rig);
      lost = null;
      link =
        duties.length === 0
          ? null
          : createGuardLink({
              folder: options.folder,
              duties,
              now: options.clock.now,
              onLost(detail) {
                lost = detail;
                options.onLost(detail);
                options.onChange();
              },
              onWatching() {
                lost = null;
                options.onWatching();
                options.onChange();
              },
              onReport(report) {
                pending.set(report.report, report);
                deliver();
                options.onChange();
              },
            });
      link?.setTrial(trial);
      return link;
    },
    remarks(configuration) {
      const { instrument } = configuration;
      const remarks: string[] = [];
      if (putsLoad(configuration.kind) && ownTimeoutSeconds(configuration) === null) {
        if (link?.guards(instrument) !== true) {
          remarks.push('Not guarded, and no time-out of its own: when the program fails, the load stays as it is.');
        } else if (lost !== null) {
          remarks.push(`Not guarded at this moment: ${lost}.`);
        }
      }
      for (const report of pending.values()) {
        if (report.acts.some((act) => act.instrument === instrument)) remarks.push(guardReportWords(report));
      }
      return remarks;
    },
    setTrial(next) {
      trial = next;
      link?.setTrial(next);
      deliver();
    },
  };
}
