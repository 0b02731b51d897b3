// Command phonecore is Bayhold's Go core as a phone runs it: compiled to
// WebAssembly for WASI preview 1 as a reactor, and driven by pwa/app/core.js.
//
//	GOOS=wasip1 GOARCH=wasm go build -buildmode=c-shared -trimpath -ldflags="-s -w" -o pwa/app/core.wasm ./cmd/phonecore
//
// Exactly this appears on the JavaScript side:
//
//	memory                     the linear memory
//	_initialize()              once, before anything else
//	buffer(n i32) i32          where to put an argument of n bytes, and shorter ones later
//	call(op i32, n i32) i64    pointer<<32 | length of the answer
//
// An argument is one CBOR map with text keys (input.go). An answer is good
// until the next call and begins with a byte: 0 answered, then u32 length of a
// JSON text, the JSON, and for each blob its u32 length and bytes
// (little-endian); 1 refused, a sentence for the person; 2 asked, a question
// that "sure" answers; 3 broken, after which the instance is thrown away.
//
// The ops, each synchronous; no goroutine, timer or lock outlives one:
//
//	1 start    writer, device, life, clock?       an empty fold
//	2 load     rows, lines                        folds what the store has
//	3 write    log, kind, body, by, strikes, seq, salt, sure   one blob: the entry, judged and encoded, not folded
//	4 send     lines                              folds own stored lines and sends them: a session answer
//	5 view     name, id, by                       the JSON is the view
//	6 open     cursors, shelves                   a session begins: hello and outbox
//	7 frame    bytes                              a frame of the shop
//	8 tick                                        every two seconds
//	9 probe                                       the page came back
//	10 shut                                       the socket is gone
//	11 clock   clock?                             one blob: the clock's state to keep
//	12 hash    bytes                              {"sha"}
//	13 backoff seq, salt, wait                    {"wait"}: ms before the next attempt
//	14 pick    log, writer, from, rows, lines     blobs: entries to send again
//	15 unkeep  rows, bytes, writer                own lines of a logbook that the shop may lack; bytes is its cursor
//	16 rewrite lines, writer, seqs                own lines under a new writer
//	17 bring   rows, from                         lines that the shop lost go back to it: a session answer
//	18 forget  rows                               a logbook without what lines of it say was erased
//	19 hangs   id                                 folds; [since, until, "p:..."...]: since when the air counts of the places that a
//	                                              job's answers hang on, and until when what was folded since tells of the air alone
//	20 settle  name                               folds a few lines, or answers one job of "lists"; "left": there is more
//
// wall and mono (ms) go with every op that reads a clock. A session answer
// (4, 6 to 10, 17) says what to store, then what to send; see link.go.
package main

const (
	opStart   = 1
	opLoad    = 2
	opWrite   = 3
	opSend    = 4
	opView    = 5
	opOpen    = 6
	opFrame   = 7
	opTick    = 8
	opProbe   = 9
	opShut    = 10
	opClock   = 11
	opHash    = 12
	opBackoff = 13
	opPick    = 14
	opUnkeep  = 15
	opRewrite = 16
	opBring   = 17
	opForget  = 18
	opHangs   = 19
	opSettle  = 20
)

func main() {}
