import { ApiError, api, type Study, type StudyRequest } from "../api";

export interface Following {
  cancel(): void;
}

/** Starts a study and tells its state as it goes; cancelling stops the work at the server too. */
export function follow(asked: StudyRequest, tell: (study: Study) => void): Following {
  let id: string | undefined;
  let source: EventSource | undefined;
  let over = false;

  const end = () => {
    over = true;
    source?.close();
  };
  const look = async () => {
    if (id === undefined || over) return;
    const study = await api.studyState(id);
    if (over) return;
    if (study.progress.state !== "running" && study.progress.state !== "waiting") end();
    tell(study);
  };
  const fail = (error: unknown) => {
    if (over) return;
    end();
    const text = error instanceof ApiError ? `${error.message}. ${error.hint}` : String(error);
    tell({ id: id ?? "", progress: { state: "failed", done: 0, total: 0, message: text }, pictures: {} });
  };
  const begin = async () => {
    ({ id } = await api.study(asked));
    if (over) {
      await api.cancelStudy(id);
      return;
    }
    source = new EventSource(`./api/studies/${id}/events`);
    const seen = () => void look().catch(fail);
    source.addEventListener("progress", seen);
    source.onerror = seen;
    await look();
  };
  begin().catch(fail);

  return {
    cancel() {
      if (over) return;
      end();
      if (id !== undefined) api.cancelStudy(id).catch(() => undefined); // It is over already, or the server is.
    },
  };
}
