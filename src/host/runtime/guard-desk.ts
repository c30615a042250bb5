import { findDriver, parseSettings } from '../../../drivers/registry.ts';
import type { Clock } from '../../device/timers.ts';
import { putsLoad } from '../../model/rig.ts';
import type { Rig } from '../../model/rig.ts';
import type { GuardAct, GuardReport, GuardedTrial } from '../../safety/guard/messages.ts';
import type { SafetyEvent } from '../../safety/limits.ts';
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
  /**
   * A report that belongs to this trial, which is under way: it is to be recorded there.
   * @param kept to be called when the record of it is on the disk.
   * @returns whether it was taken.
   */
  readonly onRecord: (trial: GuardedTrial, detail: string, kept: () => void) => boolean;
  readonly onChange: () => void;
}

/** Why the alarm of a report clears at once. */
export const inTheRecord = 'It stands in the record.';

/** The guard of the open rig, and what guards did that nobody has recorded yet. */
export interface GuardDesk {
  /** The guard of a rig that is being opened; null where nothing is to be guarded. It starts with the first line. */
  begin(rig: Rig): GuardLink | null;
  /** What a person should know of an instrument, each a sentence. */
  remarks(configuration: Rig['instruments'][number]): string[];
  /** The trial that is recorded now, or none: what was done about it is recorded. */
  setTrial(trial: GuardedTrial | null): void;
  /**
   * What is not recorded yet of a trial that is about to be sealed, as events of this trial time, µs; `kept` is to be
   * called once they are sealed with it.
   */
  readonly reportsOf: (
    trial: string,
    atMicroseconds: number,
  ) => { readonly events: readonly SafetyEvent[]; kept(): void };
}

type Configuration = Rig['instruments'][number];

function ownTimeoutSeconds({ dialect, instrument, kind, settings }: Configuration): number | null {
  const manifest = findDriver(kind, dialect);
  return manifest.ownTimeoutSeconds?.(parseSettings(manifest, instrument, settings)) ?? null;
}

function wordsOf({ acknowledgedAfterMilliseconds: after, failure, tries, what }: GuardAct): string {
  const tried = tries === 1 ? '' : ` at try ${tries}`;
  if (tries === 0) return `${what}, NOT ACKNOWLEDGED (${failure ?? 'not tried'})`;
  if (after !== null) return `${what}, acknowledged${tried} after ${Math.round(after)} ms`;
  return `${what}, NOT ACKNOWLEDGED in ${tries} ${tries === 1 ? 'try' : 'tries'} (${failure ?? 'no reason given'})`;
}

/** What a guard did, as a sentence. */
export function guardReportWords({ acts, at, done, why }: GuardReport): string {
  const did = acts.length === 0 ? 'no instrument was open' : acts.map(wordsOf).join('; ');
  const said = done ? did : ['it ended before it had finished', ...acts.map(wordsOf)].join('; ');
  return `At ${at.slice(0, 19).replace('T', ' ')} UTC the guard took the loads because ${why}: ${said}.`;
}

export function createGuardDesk(options: GuardDeskOptions): GuardDesk {
  /** Not recorded in a trial yet, by name. */
  const pending = new Map<string, GuardReport>(options.left.reports.map((report) => [report.report, report]));
  let link: GuardLink | null = null;
  let lost: string | null = null;
  let trial: GuardedTrial | null = null;

  /** Handed to the record of the present trial, and not on the disk yet, by name. */
  const handedOver = new Map<string, GuardReport>();

  const forget = (report: GuardReport): void => {
    // Another try of the same has been reported since: that one is not recorded yet.
    if (pending.get(report.report) !== report) return;
    pending.delete(report.report);
    handedOver.delete(report.report);
    link?.noted([report.report]);
    options.left.forget(report.report);
    options.onChange();
  };
  const deliver = (): void => {
    if (trial === null) return;
    for (const report of [...pending.values()]) {
      if (report.trial?.trial !== trial.trial || handedOver.get(report.report) === report) continue;
      handedOver.set(report.report, report);
      const taken = options.onRecord(trial, guardReportWords(report), () => forget(report));
      if (!taken) handedOver.delete(report.report);
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
      // What did not reach the disk with the trial before is recorded when that is taken up.
      if (next?.trial !== trial?.trial) handedOver.clear();
      trial = next;
      link?.setTrial(next);
      deliver();
    },
    reportsOf(identifier, atMicroseconds) {
      const reports = [...pending.values()].filter((report) => report.trial?.trial === identifier);
      const alarm = { alarm: 'guard-parked', instrument: null, atMicroseconds } as const;
      const events = reports.flatMap((report): SafetyEvent[] => [
        { kind: 'alarm-raised', ...alarm, detail: guardReportWords(report) },
        { kind: 'alarm-cleared', ...alarm, detail: inTheRecord },
      ]);
      return { events, kept: () => reports.forEach(forget) };
    },
  };
}
