package cert

import (
	"bytes"
	_ "embed"
	"encoding/pem"
	"html/template"
	"net"
	"net/http"
	"time"
)

//go:embed page.html
var pageHTML string

//go:embed page.css
var pageCSS []byte

var page = template.Must(template.New("page").Parse(pageHTML))

// Page is the only thing that the shop serves over plain HTTP to other
// machines: it brings the root's certificate to a phone that cannot trust
// anything yet, says how to trust it, and nothing else. A stranger on the wifi
// could send another certificate in its place, and another page; so the person
// is asked to compare what the phone says of the certificate with the print in
// the server's window.
//
// The port is that of the shop over HTTPS.
func (a *Authority) Page(port string) http.Handler {
	files := map[string]struct {
		kind string
		body []byte
	}{
		"/page.css": {"text/css; charset=utf-8", pageCSS},
		"/root.crt": {"application/x-x509-ca-cert", a.root.Raw},
		"/root.pem": {"application/x-pem-file", pem.EncodeToMemory(certBlock(a.root))},
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			h.Set("Allow", "GET, HEAD")
			http.Error(w, "this page only brings the shop's certificate", http.StatusMethodNotAllowed)
			return
		}
		if f, ok := files[r.URL.Path]; ok {
			h.Set("Content-Type", f.kind)
			if f.kind != "text/css; charset=utf-8" {
				h.Set("Content-Disposition", `attachment; filename="`+a.name+r.URL.Path[len("/root"):]+`"`)
			}
			w.Write(f.body)
			return
		}
		if r.URL.Path != "/" {
			http.Error(w, "only the shop's certificate is here: go to /", http.StatusNotFound)
			return
		}
		// Where the phone found this page it finds the shop too, if no name leads
		// there. What it asked for is believed only if it is a private address.
		address := "https://" + net.JoinHostPort(a.name, port)
		if host, _, err := net.SplitHostPort(r.Host); err == nil {
			if ip := net.ParseIP(host); ip != nil && Private(ip) {
				address = "https://" + net.JoinHostPort(host, port)
			}
		}
		var b bytes.Buffer
		err := page.Execute(&b, map[string]any{"Name": a.name, "Print": a.Print(), "Ends": a.Ends().Format(time.DateOnly),
			"Origin": "https://" + net.JoinHostPort(a.name, port), "Address": address})
		if err != nil {
			http.Error(w, "the page cannot be made", http.StatusInternalServerError)
			return
		}
		h.Set("Content-Type", "text/html; charset=utf-8")
		w.Write(b.Bytes())
	})
}
