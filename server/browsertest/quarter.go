package browsertest

import (
	"os/exec"
	"runtime"
	"sync"
	"syscall"
	"time"

	"github.com/chromedp/chromedp"
	"golang.org/x/sys/unix"
)

// ownGroup gives the browser a process group, so that one signal reaches all of
// its processes, those to come included. It ends with whoever started it.
var ownGroup = chromedp.ModifyCmdFunc(func(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Pdeathsig: syscall.SIGKILL}
})

// turn is how long the browser runs at a time at a quarter of its speed. In
// shorter turns it loses time to the signals themselves, which wake every thread:
// a loop of 62 ms then took 4.8 to 5.8 times as long at 4 ms, 4.3 to 4.9 at 10,
// and 3.9 to 4.0 at 25, on a machine with nothing else to do.
const turn = 25 * time.Millisecond

// Quarter runs f while all of the browser has a quarter of its time: its
// processes are halted together, stand still three times as long as they ran, and
// go on together. Unlike the browser's own throttle (Slow) this reaches workers,
// the threads that compile, the process of the store and the browser's own. What
// waits for a clock or for the disk waits no longer than ever, but for the rest of
// a halt. What two threads say to each other may cost more than four times, since
// a message that comes in a halt waits for its end: no figure is kinder than a
// machine at a quarter of the speed. BenchmarkQuarter measures all of this.
func (p *Phone) Quarter(f func()) {
	p.t.Helper()
	group := -chromedp.FromContext(p.ctx).Browser.Process().Pid
	began, over, ended := make(chan struct{}), make(chan struct{}), make(chan error)
	go func() {
		// The thread goes on afterwards: a browser ends with the one that started it.
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		// Where this is not allowed, a busy machine halts the browser late; what
		// that lets it run is counted, and it stands still for it.
		policy := func(p, priority uint32) {
			_ = unix.SchedSetAttr(0, &unix.SchedAttr{Size: unix.SizeofSchedAttr, Policy: p, Priority: priority}, 0)
		}
		policy(unix.SCHED_FIFO, 50)
		err := halt(group, sync.OnceFunc(func() { close(began) }), over)
		policy(unix.SCHED_NORMAL, 0)
		ended <- err
	}()
	select {
	case <-began:
	case err := <-ended:
		p.t.Fatalf("%s: halting the browser: %v", p.name, err)
	}
	defer func() {
		close(over)
		if err := <-ended; err != nil {
			p.t.Fatalf("%s: halting the browser: %v", p.name, err)
		}
	}()
	f()
}

func halt(group int, began func(), over <-chan struct{}) error {
	defer syscall.Kill(group, syscall.SIGCONT)
	for {
		from := time.Now()
		if err := syscall.Kill(group, syscall.SIGCONT); err != nil {
			return err
		}
		sleep(turn)
		select {
		case <-over:
			return nil
		default:
		}
		if err := syscall.Kill(group, syscall.SIGSTOP); err != nil {
			return err
		}
		ran := time.Since(from)
		began()
		sleep(3 * ran)
	}
}

// sleep is the kernel's own: Go's wakes a thread that may not be this one.
func sleep(d time.Duration) {
	for ts := syscall.NsecToTimespec(int64(d)); syscall.Nanosleep(&ts, &ts) == syscall.EINTR; {
	}
}
