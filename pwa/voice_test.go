package pwa_test

import (
	"testing"

	"bayhold/server/browsertest"
)

// A spoken note without signal: recorded, kept, there after SIGKILL, at the
// shop when it is in reach, and played on a second phone. What the browser's
// own recorder makes passes the shop's check, in each container that it knows.
func TestBrowserVoiceNote(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	a := browsertest.New(t, "A", s.addr)
	own(a)
	id := begin(t, a)
	waits(a, 0)
	a.ReadyOffline()
	a.Open("/#/job/" + id)
	takeDoor(a)
	lookAt(a, id)
	a.Wire.Cut()
	online(a, false)
	a.Tap("voice-add")
	a.Tap("voice-record")
	a.Until("two seconds to be spoken", `parseInt(document.querySelector('[data-testid=voice-time]')?.innerText) >= 2`)
	a.Tap("voice-stop")
	a.Until("it to be noted", `document.querySelector('.noted')?.innerText.includes('Voice note on this phone')`)
	a.SeesNot("voice-time")
	waits(a, 1)
	a.Kill()
	a.Start()
	a.Open("/#/phone")
	takeDoor(a)
	a.Reads("held:V5", "1 line and 1 voice note")
	a.Wire.Restore()
	a.Reads("only-here", "Everything from this phone is at the shop")
	lookAt(a, id)
	a.Until("the line at the shop", `seen['job' + job]?.view?.lines.some(l => l.voice && l.where === 'shop')`)
	sha := browsertest.JS[string](a, `seen['job' + job].view.lines.find(l => l.voice).voice`)
	if got := browsertest.JS[string](a, `fetch('/photos/`+sha+`').then(r => r.status + ' ' + r.headers.get('content-type'))`); got != "200 audio/webm" {
		t.Errorf("the shop answers %s", got)
	}

	b := browsertest.New(t, "B", s.addr)
	b.Open("/#/job/" + id)
	b.Until("the lines", `(d => d && (d.open = true))(document.querySelector('[data-testid=lines]'))`)
	b.Tap("voice-play")
	b.Until("the note to be heard", `(p => p && (p.muted = true, p.play(), p.currentTime > 0.5))(document.querySelector('[data-testid=voice-player]'))`)

	for _, kind := range []string{"audio/webm", "audio/mp4"} {
		got := browsertest.JS[string](a, `(async () => {
			if (!MediaRecorder.isTypeSupported('`+kind+`')) return 'cannot';
			const stream = await navigator.mediaDevices.getUserMedia({audio: true});
			const recorder = new MediaRecorder(stream, {mimeType: '`+kind+`'}), parts = [];
			const heard = new Promise(ok => recorder.ondataavailable = e => { parts.push(e.data); if (e.data.size > 0) ok(); });
			const over = new Promise(ok => recorder.onstop = ok);
			recorder.start(200);
			await heard;
			recorder.stop();
			await over;
			const blob = await new Blob(parts).arrayBuffer();
			const answer = await shop.ask('voice', {job, type: '`+kind+`', blob, length: 500});
			return answer.refused ?? 'written';
		})()`)
		if got == "cannot" {
			t.Logf("this browser does not record %s", kind)
			continue
		}
		if got != "written" {
			t.Errorf("%s: %s", kind, got)
		}
		a.Until(kind+" at the shop", `shop.ask('status').then(s => s.photosWaiting === 0)`)
	}
	if got := browsertest.JS[string](a, "said.join()"); got != "" {
		t.Errorf("the person was told %q", got)
	}
}
