/** The server's answers, typed, and the questions put to it. */

import type { components } from "./types";

type Schemas = components["schemas"];
export type Units = Schemas["UnitSet"];
export type Word = Schemas["Word"];
export type About = Schemas["About"];
export type CaseLine = Schemas["CaseLine"];
export type CaseList = Schemas["CaseList"];
export type CaseSummary = Schemas["CaseSummary"];
export type SummaryNumber = Schemas["SummaryNumber"];
export type CaseFile = Schemas["CaseFile"];
export type CaseError = Schemas["CaseErrorLine"];
export type Key = Schemas["KeyLine"];
export type ReadCase = Schemas["TextView"];
export type Edit = Schemas["EditLine"];
export type Cell = Schemas["Cell"];
export type Row = Schemas["Row"];
export type Column = Schemas["Column"];
export type VerdictLine = Schemas["VerdictLine"];
export type Chart = Schemas["Chart"];
export type Sheet = Schemas["Sheet"];
export type PicturesWanted = Schemas["PicturesWanted"];
export type Solved = Schemas["Solved"];
export type Why = Schemas["Why"];
export type InfluenceSheet = Schemas["InfluenceSheet"];
export type Study = Schemas["Study"];
export type Starter = Schemas["Starter"];
export type FilmMaps = Schemas["FilmMaps"];
export type FilmMap = Schemas["FilmMap"];
export type Cut = Schemas["Cut"];
export type Proof = Schemas["Proof"];
export type Change = Schemas["Change"];
export type StudyRequest = Schemas["StudyRequest"];

/** What went wrong, in words that say what to do. */
export class ApiError extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    message: string,
    readonly hint: string,
    readonly caseErrors: CaseError[],
    /** The present file, where it is newer than the one written over. */
    readonly present: CaseFile | undefined,
  ) {
    super(message);
  }

  /** The server did not answer at all. */
  get silent(): boolean {
    return this.status === 0;
  }
}

interface Asked {
  method?: string;
  body?: unknown;
  headers?: Record<string, string>;
  signal?: AbortSignal;
}

async function answer(path: string, asked: Asked = {}): Promise<Response> {
  const { method = asked.body === undefined ? "GET" : "POST", body, headers = {}, signal } = asked;
  const init: RequestInit = { method, headers: { ...headers } };
  if (body !== undefined) {
    init.body = JSON.stringify(body);
    init.headers = { "content-type": "application/json", ...headers };
  }
  if (signal) init.signal = signal;
  let response: Response;
  try {
    response = await fetch(`./api${path}`, init);
  } catch (reason) {
    if (signal?.aborted) throw reason;
    throw new ApiError(0, "silent", "the server does not answer", "Start it again: halfmicron serve. What is written here is kept.", [], undefined);
  }
  if (response.ok) return response;
  throw await refusal(response);
}

async function refusal(response: Response): Promise<ApiError> {
  const told = (await response.json().catch(() => ({}))) as Partial<Schemas["Problem"]>;
  const { error } = told;
  const message = error?.message ?? `the server answered ${response.status}`;
  return new ApiError(response.status, error?.code ?? "", message, error?.hint ?? "", told.case_errors ?? [], told.present ?? undefined);
}

const json = async <T>(path: string, asked?: Asked): Promise<T> => (await (await answer(path, asked)).json()) as T;
const at = (name: string) => `/cases/${encodeURIComponent(name)}`;

const signalled = (body: unknown, signal: AbortSignal | undefined): Asked => ({ body, ...(signal && { signal }) });

export const api = {
  about: () => json<About>("/about"),
  cases: (units: Units) => json<CaseList>(`/cases?units=${units}`),
  summary: (name: string, units: Units) => json<CaseSummary>(`${at(name)}/summary?units=${units}`),
  open: (name: string) => json<CaseFile>(at(name)),
  save: (name: string, text: string, tag: string) =>
    json<Schemas["Saved"]>(at(name), { method: "PUT", body: { text }, headers: { "if-match": `"${tag}"` } }),
  saveNew: (name: string, text: string) => json<Schemas["Saved"]>(at(name), { method: "PUT", body: { text }, headers: { "if-none-match": "*" } }),
  make: (name: string, from: string) => json<CaseFile>("/cases", { body: { name, from } }),
  starters: () => json<Starter[]>("/starters"),
  keys: () => json<Key[]>("/keys"),
  read: (text: string, signal?: AbortSignal) => json<ReadCase>("/read", signalled({ text }, signal)),
  edit: (text: string, edits: Edit[]) => json<ReadCase>("/edit", { body: { text, edits } }),
  solve: (asked: Schemas["SolveRequest"], signal?: AbortSignal) => json<Solved>("/solve", signalled(asked, signal)),
  why: (asked: Schemas["WhyRequest"], signal?: AbortSignal) => json<Why>("/why", signalled(asked, signal)),
  study: (asked: StudyRequest) => json<Study>("/studies", { body: asked }),
  studyState: (id: string) => json<Study>(`/studies/${encodeURIComponent(id)}`),
  cancelStudy: (id: string) => json<Study>(`/studies/${encodeURIComponent(id)}`, { method: "DELETE" }),
  cut: (id: string, at: { radius: number; angle: number; width: number; narrow: number }, signal?: AbortSignal) =>
    json<Cut>(`/studies/${encodeURIComponent(id)}/cut?${new URLSearchParams(Object.entries(at).map(([key, value]) => [key, String(value)]))}`, signal ? { signal } : {}),
  report: (asked: Schemas["ReportRequest"], signal?: AbortSignal) => answer("/report", signalled(asked, signal)).then(file),
  draw: (asked: Schemas["DrawRequest"]) => answer("/draw", { body: asked }).then(file),
  proof: () => json<Proof>("/proof"),
};

export interface Download {
  readonly name: string;
  readonly data: Blob;
}

async function file(response: Response): Promise<Download> {
  const name = /filename="([^"]+)"/.exec(response.headers.get("content-disposition") ?? "")?.[1] ?? "halfmicron";
  return { name, data: await response.blob() };
}
