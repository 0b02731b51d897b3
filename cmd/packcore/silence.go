package main

import "strings"

// silent are functions of Go's runtime that a phone never runs: they speak to a
// programmer at a terminal, or serve what the core does not have. Go's linker
// keeps them, because the calls to them stand behind a switch that is read at
// run time and is off. Each becomes a single 'unreachable': if one were called
// after all the core would trap, and the page makes a new one and folds again.
//
// A pattern is the beginning of a name; one that ends in $ is the whole of it.
var silent = []struct {
	switchedBy string // why no call arrives there
	patterns   []string
}{
	{"traceEnabled(): the execution tracer is not started", []string{
		"runtime.trace", "runtime.(*trace", "runtime.makeTraceFrame", "runtime.fpTraceback", "runtime.fpunwindExpand"}},
	{"a crash, after its message was printed: nobody reads a stack on a phone", []string{
		"runtime.goroutineheader$", "runtime.printcreatedby", "runtime.printAncestor", "runtime.printArgs",
		"runtime.printCgoTraceback", "runtime.printOneCgoTraceback", "runtime.showframe$", "runtime.showfuncinfo$",
		"runtime.funcNamePiecesForPrint$", "runtime.printFuncName$", "runtime.dumpgstatus$", "runtime.gcDumpObject$",
		"runtime.hexdump", "runtime.(*hexdump", "runtime.badPointer$", "runtime.(*mspan).reportZombies",
		"runtime.(*Frames)", "runtime.CallersFrames$", "runtime.expandCgoFrames$",
		"runtime.printpanicval$", "runtime.printanycustomtype$", "internal/strconv.AppendComplex$"}},
	{"the format's letter: the core writes numbers as 'f' and 'g'", []string{
		"internal/strconv.fmtX$", "internal/strconv.fmtB$"}},
	{"debug.*: settings of the GODEBUG variable, which a phone does not have", []string{
		"runtime.schedtrace", "runtime.dumpScanStats", "runtime.checkFinalizersAndCleanups", "runtime.dumpStacksRec",
		"runtime.dumpTypesRec", "runtime.printScavTrace", "runtime.runCheckmark",
		"runtime.startCheckmarks", "runtime.getCheckmark", "runtime.setCheckmark"}},
	{"goroutineProfile.active, blockprofilerate: nothing is profiled but, before the runtime is up, memory", []string{
		"runtime.(*profBuf)", "runtime.saveblockevent$", "runtime.saveBlockEventStack$", "runtime.doRecordGoroutineProfile",
		"runtime.tryRecordGoroutineProfile", "runtime.findGoroutineLeaks", "runtime.findMaybeRunnableGoroutines",
		"runtime.(*g).isMaybeRunnable"}},
	{"stackScanState.conservative: WebAssembly is not preempted in the middle of a function", []string{
		"runtime.scanConservative"}},
	{"firstmoduledata.next: there are no plugins whose types could be the same", []string{
		"runtime.typesEqual"}},
}

// idle are functions that are called once, as the program starts, and have
// nothing to do. Each returns at once.
var idle = map[string]string{
	"runtime.moduledataverify1":   "checks what the linker wrote, and packcore's tests have",
	"runtime.check":               "checks the compiler",
	"runtime.typelinksinit":       "brings the types of plugins together: there are none",
	"internal/cpu.processOptions": "reads the GODEBUG variable, which a phone does not have",
}

// spoken begin as a silent name does and are called all the same: they read
// the switch, or run before it is set.
var spoken = map[string]bool{
	"runtime.traceAcquire": true, "runtime.traceEnabled": true, "runtime.traceShuttingDown": true,
	"runtime.traceRelease": true, "runtime.traceLocker.ok": true, "runtime.traceLockInit": true,
	"runtime.traceAllocFreeEnabled": true, "runtime.tracebackPCs": true, "runtime.traceExitingSyscall": true, "runtime.traceExitedSyscall": true,
}

func isSilent(name string) bool {
	if spoken[name] {
		return false
	}
	for _, s := range silent {
		for _, p := range s.patterns {
			if whole, ok := strings.CutSuffix(p, "$"); ok && name == whole || !ok && strings.HasPrefix(name, p) {
				return true
			}
		}
	}
	return false
}

// nothing is a function body without locals that traps (core specification
// 3.3.5: what follows 'unreachable' may have any type).
var nothing = []byte{0x00, 0x00, 0x0b}

// back is the body of a Go function that only returns: the stack pointer, global
// 0, goes past the return address, and the answer 0 says that it is done.
var back = []byte{0x00, 0x23, 0x00, 0x41, 0x08, 0x6a, 0x24, 0x00, 0x41, 0x00, 0x0b}
