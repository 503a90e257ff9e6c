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

interface Verdict {
  word: keyof Signs;
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

interface Place {
  incident: string;
  team: string;
}

/** What send.js tells the page: one of these at a time, or the link with what is new. */
interface News {
  entry?: Entry;
  answer?: Answer;
  link?: Link;
  now?: Now;
}

type Link = "none" | "good" | "out" | "revoked";

interface Signs {
  withdraw: string;
  stop: string;
  caution: string;
  continue: string;
}

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
  actions: (keyof Signs)[];
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

interface Judged {
  action: number;
  word: keyof Signs;
  hazard: string;
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
  querySelector(selectors: '[data-key="−"]'): HTMLElement;
}
interface HTMLFormControlsCollection {
  readonly observed_at?: HTMLInputElement;
  readonly [name: string]: any;
}
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
}
/** What sounds and shakes in a way of its own. */
type Pattern = "stop" | "withdraw" | "mayday";
interface ObjectConstructor {
  values(map: DOMStringMap): string[];
}
interface Element {
  closest<E extends Element = HTMLElement>(selectors: string): E | null;
  setAttribute(name: "aria-pressed", value: boolean): void;
  matches(selectors: "[data-pad]"): this is Figure;
}
interface Hit {
  readonly target: HTMLElement & { readonly form: HTMLFormElement };
}
interface Document {
  addEventListener(type: "click", listener: (event: MouseEvent & Hit) => void, options?: boolean): void;
  addEventListener(type: "pointerdown", listener: (event: PointerEvent & Hit) => void, options?: boolean): void;
  addEventListener(type: "input", listener: (event: Event & Hit) => void): void;
  addEventListener(type: "focusin", listener: (event: FocusEvent & Hit) => void): void;
  addEventListener(
    type: "submit",
    listener: (event: SubmitEvent & { readonly target: HTMLFormElement }) => void,
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
