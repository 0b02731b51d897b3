package main

import (
	"bufio"
	"context"
	"crypto/tls"
	"crypto/x509"
	"image"
	"image/color"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"bayhold/server"
)

// The code on the terminal is read by somebody else's reader.
func TestTerminalQR(t *testing.T) {
	const text = "http://192.168.4.20:8080"
	var rows [][2][]bool // of half blocks, dark or not
	for _, l := range strings.Split(strings.TrimSpace(terminalQR(text)), "\n") {
		l = strings.TrimSuffix(strings.TrimPrefix(l, "\x1b[30;107m"), "\x1b[0m")
		var row [2][]bool
		for _, c := range l {
			row[0] = append(row[0], c == '█' || c == '▀')
			row[1] = append(row[1], c == '█' || c == '▄')
		}
		rows = append(rows, row)
	}
	const zoom = 4
	img := image.NewGray(image.Rect(0, 0, len(rows[0][0])*zoom, len(rows)*2*zoom))
	for y := range img.Rect.Max.Y {
		for x := range img.Rect.Max.X {
			if m := y / zoom; !rows[m/2][m%2][x/zoom] {
				img.SetGray(x, y, color.Gray{255})
			}
		}
	}
	bmp, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	got, err := qrcode.NewQRCodeReader().Decode(bmp, nil)
	if err != nil || got.GetText() != text {
		t.Errorf("read %v, %v", got, err)
	}
}

// The first start of a shop with a name: a phone that brings the certificate
// from the page and trusts it gets the app over HTTPS; one that does not gets
// nothing.
func TestServeByName(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	out, in := io.Pipe()
	ended := make(chan error, 1)
	cfg := server.Config{Data: t.TempDir(), Addr: "127.0.0.1:0", Name: "tarnbrook.local"}
	go func() {
		ended <- serve(ctx, cfg, false, identity{page: "127.0.0.1:0"}, "", in)
		in.Close()
	}()
	var origin, page, print string
	said := bufio.NewScanner(out)
	for said.Scan() {
		l := said.Text()
		if _, after, ok := strings.Cut(l, " at https://"); ok {
			origin = after
		}
		if _, after, ok := strings.Cut(l, "scan this, or open "); ok {
			page = after
		}
		if strings.HasPrefix(l, "  ") && strings.Contains(l, ":") {
			print += strings.TrimSpace(l) + ":"
		}
		if strings.Count(print, ":") == 32 {
			break
		}
	}
	go io.Copy(io.Discard, out)
	if origin == "" || page == "" {
		t.Fatalf("the terminal says no address: %v", <-ended)
	}
	body := func(url string) ([]byte, int) {
		t.Helper()
		r, err := http.Get(url)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		b, err := io.ReadAll(r.Body)
		if err != nil {
			t.Fatal(err)
		}
		return b, r.StatusCode
	}
	for _, path := range []string{"/app/worker.js", "/healthz", "/ws", "/version"} {
		if _, code := body(page + path); code != 404 {
			t.Errorf("plain HTTP serves %s: %d", path, code)
		}
	}
	root, _ := body(page + "/root.crt")
	c, err := x509.ParseCertificate(root)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	_, port, _ := net.SplitHostPort(origin)
	phone := func(roots *x509.CertPool) *http.Client {
		return &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots},
			DialContext: func(ctx context.Context, network, _ string) (net.Conn, error) { // instead of mDNS
				return new(net.Dialer).DialContext(ctx, network, "127.0.0.1:"+port)
			}}}
	}
	if _, err := phone(pool).Get("https://" + origin + "/healthz"); err == nil {
		t.Error("a phone that trusts nothing was served")
	}
	pool.AddCert(c)
	for host, want := range map[string]int{origin: 200, "localhost:" + port: 200} {
		r, err := phone(pool).Get("https://" + host + "/healthz")
		if err != nil || r.StatusCode != want {
			t.Errorf("%s: %v %v", host, r, err)
		}
	}
	rebound, err := http.NewRequest("GET", "https://"+origin+"/healthz", nil)
	if err != nil {
		t.Fatal(err)
	}
	rebound.Host = "evil.example:" + port
	if r, err := phone(pool).Do(rebound); err != nil || r.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("another name: %v %v, want 421", r, err)
	}

	// The machine's owner gets another invitation than the one on the terminal.
	code, shown, errs := call("invite", "--data", cfg.Data, "--role", "crew")
	if want := "https://" + origin + "/#/join/"; code != 0 || !strings.Contains(shown, want) || !strings.Contains(shown, "type the code ") {
		t.Errorf("bayhold invite: %d %s%s, want %s", code, shown, errs, want)
	}
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	for _, c := range []struct {
		role string
		code int
		says string
	}{{"owner", 2, "lead or crew"}, {"lead", 1, "no server runs"}} {
		if code, _, errs := call("invite", "--data", cfg.Data, "--role", c.role); code != c.code || !strings.Contains(errs, c.says) {
			t.Errorf("bayhold invite --role %s: %d %s", c.role, code, errs)
		}
	}
}
