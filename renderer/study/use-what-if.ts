import { useCallback, useEffect, useState } from 'react';
import type { Failure } from '../../src/bridge/snapshot.ts';
import type { StudyView, WhatIfAsked } from '../../src/bridge/study.ts';
import type { Outcome } from '../ui/use-perform.ts';

type Asked = Omit<WhatIfAsked, 'file'>;

const nothing: Asked = { without: [], method: null };

/** A study as it would be with something otherwise. It lives in the window only: the host writes nothing. */
export interface WhatIfState {
  readonly asked: Asked | null;
  /** The newest answer; the study as it stands where nothing is asked, or no answer has come. */
  readonly view: StudyView;
  readonly busy: boolean;
  readonly failure: Failure | null;
  readonly begin: () => void;
  readonly end: () => void;
  /** Leaves a trial out, or puts it back. */
  readonly toggle: (trial: string) => void;
  readonly chooseMethod: (method: string | null) => void;
}

/** @param ask of the host. What was asked before and answered late is dropped. */
export function useWhatIf(
  standing: StudyView,
  ask: (asked: WhatIfAsked) => Promise<Outcome<StudyView>>,
): WhatIfState {
  const [asked, setAsked] = useState<Asked | null>(null);
  const [answer, setAnswer] = useState<{ readonly to: Asked; readonly outcome: Outcome<StudyView> } | null>(null);
  const { file } = standing;
  const isAsking = asked !== null && !isNothing(asked);
  useEffect(() => {
    if (asked === null || isNothing(asked)) return;
    let isWanted = true;
    void ask({ file, ...asked }).then((outcome) => {
      if (isWanted) setAnswer({ to: asked, outcome });
    });
    return () => {
      isWanted = false;
    };
  }, [ask, asked, file, standing]);
  const toggle = useCallback((trial: string) => {
    setAsked((before) => {
      const { without, method } = before ?? nothing;
      const others = without.filter((one) => one !== trial);
      return { method, without: others.length < without.length ? others : [...without, trial] };
    });
  }, []);
  const chooseMethod = useCallback((method: string | null) => {
    setAsked((before) => ({ ...(before ?? nothing), method }));
  }, []);
  const begin = useCallback(() => {
    // What an earlier question was answered belongs to it.
    setAnswer(null);
    setAsked(nothing);
  }, []);
  const end = useCallback(() => {
    setAsked(null);
  }, []);
  const outcome = isAsking ? answer?.outcome : undefined;
  return {
    asked,
    view: outcome?.done === true ? outcome.value : standing,
    busy: isAsking && answer?.to !== asked,
    failure: outcome?.done === false ? outcome.failure : null,
    ...{ begin, end, toggle, chooseMethod },
  };
}

function isNothing({ without, method }: Asked): boolean {
  return without.length === 0 && method === null;
}
