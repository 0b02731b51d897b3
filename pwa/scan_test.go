package pwa_test

import (
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// reader stands in for the browser's own reader of codes (W3C Barcode Detection
// API, draft): of the pictures that it is given one holds a code, one none, and
// one makes it stumble.
const reader = `globalThis.BarcodeDetector = class {
	async detect(picture) {
		if (!(picture instanceof ImageBitmap)) throw new TypeError('not a picture');
		if (picture.width === 3) throw new DOMException('no reader', 'NotSupportedError');
		return picture.width === 2 ? [{rawValue: 'B-2207', format: 'qr_code'}] : [];
	}
};`

// The code on a roll is read into the field that asks for it, can be mended
// there, and what cannot be read is typed. Where the browser reads no codes the
// field stands alone.
func TestBrowserCodeOnARoll(t *testing.T) {
	t.Parallel()
	batch := screen{hash: "#/job/job-film", want: "type:batch",
		taps: []string{"form:film", "pick:panels:all", "pick:family:cast", "skip:laminate", "skip:adhesive", "skip:thickness", "pick:printed:true", "skip:months"}}
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, batch, "day"); err != nil {
		t.Fatal(err)
	}
	if !eval[bool](t, ctx, `'BarcodeDetector' in globalThis`) && eval[bool](t, ctx, `!!`+id("scan")) {
		t.Error("a browser that reads no codes offers to")
	}

	ctx = browser(t)
	if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: reader}); err != nil {
		t.Fatal(err)
	}
	if err := open(ctx, base, batch, "day"); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ width, then string }{
		{"1", `document.body.textContent.includes('No code seen. Hold it flat, or type it.')`},
		{"3", `document.body.textContent.includes('No code read. Type it.')`},
		{"2", id("type:batch") + `.value === 'B-2207'`},
	} {
		eval[bool](t, ctx, `new Promise((done) => {
			const canvas = Object.assign(document.createElement('canvas'), {width: `+c.width+`, height: 2});
			canvas.getContext('2d').fillRect(0, 0, 1, 1);
			canvas.toBlob((blob) => {
				const files = new DataTransfer();
				files.items.add(new File([blob], 'roll.png', {type: 'image/png'}));
				const input = `+id("scan")+`;
				input.files = files.files;
				input.dispatchEvent(new Event('change'));
				done(true);
			});
		})`)
		if err := until(ctx, c.then); err != nil {
			t.Errorf("a picture %s wide: %v", c.width, err)
		}
	}
}
