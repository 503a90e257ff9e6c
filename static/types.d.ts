// Only for the check by tsc (jsconfig.json); no page loads this.

// --- What the phone keeps and is told (static/field) ------------------------------------

type Fields = Record<string, string>;

/** One entry in the phone's own store, from the tap on Save until the post has it. */
interface Entry {
  n: number;
  uuid: string;
  kind: string;
  fields: Fields;
  /** "photo": the post has the entry and not yet its photo. */
  state: "waiting" | "photo" | "refused";
  words: string;
  device_at: string;
  offset_ms: number | undefined;
  incident: string;
  team: string;
  device: string;
  /** Field and words, as the post refused it. */
  errors?: [string, string][];
  photo?: Blob;
}

/** What the post answered for one entry (views/field_link.py). */
interface Answer {
  uuid: string;
  state: "stored" | "held" | "refused" | "conflict" | "again";
  words?: string;
  errors?: [string, string][];
}

/** What the post answered to a batch, and what stands since. */
interface Reply {
  answers: Answer[];
  now?: Now;
  revoked?: true;
}

interface Verdict {
  word: VerdictWord;
  label: string;
  because: string;
  advice: string[];
  gaps: string;
  at: string | null;
}

/** What stands for the team, and what the forms offer to choose from. */
interface Now {
  at: string;
  incident: { id: string; name: string; closed: boolean; demo: boolean; zone: string };
  device: { id: string; name: string };
  team: { id: string; name: string; ensemble: string; wears: string; place: string; inside: boolean };
  choices: {
    members: [string, string][];
    places: string[];
    containers: string[];
    instruments: Record<string, [string, string][]>;
  };
  verdict: Verdict | null;
  table: string;
  expires_at: string;
  caution: string;
  /** Bytes up to which a photo is kept as the camera made it. */
  photo_original: number;
}

/** What the modules of the page know together (page.js). */
interface Phone {
  /** What the post said last. */
  now?: Now;
  /** Where what waits may go: stays when this phone is cut off, so that it can be held. */
  place?: Now;
  /** What one reading alone means. */
  table?: Table;
  link: Link;
  /** What was saved last, with which the next form begins. */
  last?: Entry;
  /** The refused entry that the form is about. */
  mending?: Entry;
  /** Why there was to withdraw when somebody said that it was understood. */
  heard?: string;
}

/** The bytes of the photo for a form, once they are made; none of what was no picture. */
type Photos = WeakMap<HTMLFormElement, Promise<Blob | undefined>>;

type Link = "none" | "good" | "out" | "revoked";

type VerdictWord = "withdraw" | "stop" | "caution" | "continue";

/** Where the outcome of a figure changes (forms/figure_steps.py). */
interface Steps {
  points: number[];
  at: number[][];
  between: number[][];
}

interface Choices {
  by: string[];
  rows: Record<string, number[]>;
}

type Factors = Record<string, [number, number]>;

/** What one reading alone means (forms/single_readings.py). */
interface Table {
  tag: string;
  ensembles: string[];
  actions: VerdictWord[];
  choices: Record<string, Choices>;
  figures: Record<string, Steps> & { rate_by_dose: (Steps & { up_to: number })[] };
  gases: Record<string, Steps & { over: number[] }>;
  members: Record<string, Steps>;
  flags: Record<string, number[]>;
  factors: Factors;
  degf: Factors;
  air_degf: number | null;
  findings: { hazard: string; title: string; advice: string[]; actions: number[] }[];
}

/** From what was filled in to the numbers of findings (warn.js). */
type Read = (table: Table, fields: Fields) => number[];

/** `ensemble` is what the team wears, where that is known. */
type Judge = (table: Table, kind: string, fields: Fields, ensemble?: string) => Judged[];

interface Judged {
  action: number;
  word: VerdictWord;
  title: string;
  advice: string[];
}

// --- What the pages share (static/js) ----------------------------------------------------

interface Window {
  /** The post's time in milliseconds (clock.js). */
  serverNow(): number;
  wallTime(ms: number | undefined): string;
}

// Every node of these pages is HTML, but for a sign inside a verdict. Said once, here.
interface ParentNode {
  querySelector<E extends Element = HTMLElement>(selectors: string): E | null;
  querySelectorAll<E extends Element = HTMLElement>(selectors: string): NodeListOf<E>;
}
// What these pages are known to have, by its id or name. The page of a script has its own.
interface Document {
  getElementById(id: "sound" | "new-alarm" | "understood"): HTMLElement;
  getElementById(id: "id_line"): HTMLInputElement;
  getElementById(id: "number-pad"): HTMLTemplateElement;
  getElementsByName(name: "csrfmiddlewaretoken"): NodeListOf<HTMLInputElement>;
}
interface ParentNode {
  querySelectorAll(selectors: "[data-pad]" | ".fields [data-say]"): NodeListOf<Figure>;
  querySelector(selectors: "[name='shown']"): HTMLInputElement | null;
  querySelector(selectors: '[data-key="−"]' | "button"): HTMLElement;
  querySelector(selectors: "input"): HTMLInputElement;
  querySelector(selectors: "canvas"): Canvas;
}
interface HTMLFormControlsCollection {
  readonly observed_at?: HTMLInputElement;
  readonly [name: string]: any;
}
/** Of a size that each phone has room for, so that it gives what it is asked for. */
type Canvas = Omit<HTMLCanvasElement, "getContext" | "toBlob"> & {
  getContext(kind: "2d"): CanvasRenderingContext2D;
  toBlob(done: (blob: Blob) => void, type: string, quality: number): void;
};
/** A field of a reading, which never stands outside its form. */
type Figure = HTMLInputElement & { readonly form: HTMLFormElement };

/** What the templates always give to the nodes that are asked for it. */
interface DOMStringMap {
  end: string;
  since: string;
  until: string;
  says: string;
  say: string;
  unit: string;
  was: string;
  said: string;
  signIn: string;
  pattern: Pattern;
  key: string;
  clock: string;
  worker: string;
  carried: string;
}
/** What sounds and shakes in a way of its own. */
type Pattern = "stop" | "withdraw" | "mayday";
interface Element {
  closest<E extends Element = HTMLElement>(selectors: string): E | null;
  setAttribute(name: "aria-pressed", value: boolean): void;
  matches(selectors: "[data-pad]"): this is Figure;
}
interface Hit {
  readonly target: HTMLElement & { readonly form: HTMLFormElement };
}
/** Each form of these pages is sent by one of its buttons. */
type Submitted = SubmitEvent & { readonly target: HTMLFormElement; readonly submitter: HTMLButtonElement };
interface Document {
  addEventListener(type: "click", listener: (event: MouseEvent & Hit) => void, options?: boolean): void;
  addEventListener(type: "pointerdown", listener: (event: PointerEvent & Hit) => void, options?: boolean): void;
  addEventListener(
    type: "change",
    listener: (event: { readonly target: HTMLInputElement & { readonly form: HTMLFormElement } }) => void,
  ): void;
  addEventListener(type: "input", listener: (event: Event & Hit) => void): void;
  addEventListener(type: "focusin", listener: (event: FocusEvent & Hit) => void): void;
  addEventListener(
    type: "submit",
    listener: (event: Submitted) => void,
    options?: boolean,
  ): void;
}

/** The parts of htmx's events that are used here. */
interface HtmxDetail {
  elt: HTMLElement;
  xhr: XMLHttpRequest;
  headers: Record<string, string>;
  requestConfig: { elt: HTMLElement };
  shouldSwap: boolean;
  isError: boolean;
}
interface HtmxEvent extends CustomEvent<HtmxDetail> {
  readonly target: HTMLElement;
}

interface DocumentEventMap {
  "answered": Event;
  "htmx:beforeSwap": HtmxEvent;
  "htmx:afterSwap": HtmxEvent;
  "htmx:afterSettle": HtmxEvent;
  "htmx:afterRequest": HtmxEvent;
  "htmx:configRequest": HtmxEvent;
  "htmx:responseError": HtmxEvent;
  "htmx:sendError": HtmxEvent;
  "htmx:timeout": HtmxEvent;
  "signed-out": CustomEvent<HTMLElement>;
}
