package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"bayhold/server"
	"bayhold/server/daylog"
)

const serveHelp = `bayhold serve [--addr HOST:PORT] [--data DIR | --demo]
              [--name HOST [--page HOST:PORT] [--cert FILE --key FILE]]
              [--logger-keys FILE] [--webhook URL --webhook-key FILE]
              [--metrics HOST:PORT] [--verbose]

Serves the phone's app and keeps the shop's logbooks until it is stopped with
Ctrl-C or SIGTERM.

  --addr HOST:PORT   where to listen; localhost:8080, and :8443 with --name
  --data DIR         the folder of the store and the photos, made if it is
                     missing; ./bayhold-data
  --demo             serves an invented shop on its Wednesday at 08:00, which is
                     now, from a folder that is deleted at the end
  --name HOST        serve phones over HTTPS under this name, such as shop.local,
                     which phones on this network find then without more ado;
                     any other name the router has to know. It is proven by a certificate that is made at the first start and that
                     each phone is made to trust once. Every phone has to join
                     the shop: the lead's by the code that is shown here, the
                     others by one that the lead's phone shows
  --page HOST:PORT   where the page listens, over plain HTTP, that brings that
                     certificate to a phone; :8080
  --cert FILE, --key FILE
                     serve by a certificate of your own instead; the files are
                     read again when they change
  --logger-keys FILE take readings of a bay only with its key; a line of the
                     file is a place and a key, such as 'bay-4 KEY'
  --webhook URL, --webhook-key FILE
                     tell alarms (heater lost, margin under 3 K, door open,
                     logger silent) to this address, signed with that key
  --metrics HOST:PORT
                     tell Prometheus on this machine, at localhost:9100 for
                     instance, what the server counts: lines, phones, loggers,
                     the disk; no names and no plates
  --verbose          log every socket and every write
`

// runServe is the serve command.
func runServe(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("serve", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	addr := fs.String("addr", "", "")
	data := fs.String("data", "", "")
	demo := fs.Bool("demo", false, "")
	name := fs.String("name", "", "")
	pageAddr := fs.String("page", ":8080", "")
	certFile := fs.String("cert", "", "")
	keyFile := fs.String("key", "", "")
	loggerKeys := fs.String("logger-keys", "", "")
	hook := fs.String("webhook", "", "")
	hookKey := fs.String("webhook-key", "", "")
	metrics := fs.String("metrics", "", "")
	verbose := fs.Bool("verbose", false, "")
	if code, ok := parse(fs, args, serveHelp, stdout, stderr); !ok {
		return code
	}
	if *demo && *data != "" {
		fmt.Fprintln(stderr, "bayhold serve: --demo keeps nothing, so it goes without --data")
		return 2
	}
	if (*certFile == "") != (*keyFile == "") || *certFile != "" && *name == "" {
		fmt.Fprintln(stderr, "bayhold serve: --cert and --key go together, and with --name, which the certificate is for")
		return 2
	}
	if (*hook == "") != (*hookKey == "") {
		fmt.Fprintln(stderr, "bayhold serve: --webhook and --webhook-key go together")
		return 2
	}
	if *addr == "" {
		*addr = "localhost:8080"
		if *name != "" {
			*addr = ":8443"
		}
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	level := slog.LevelInfo
	if *verbose {
		level = slog.LevelDebug
	}
	cfg := server.Config{Addr: *addr, Data: *data, Name: strings.ToLower(*name),
		Log: slog.New(daylog.New(stderr, level, time.Local))}
	if cfg.Data == "" {
		cfg.Data = "bayhold-data"
	}
	var err error
	if *loggerKeys != "" {
		cfg.LoggerKeys, err = server.ReadLoggerKeys(*loggerKeys)
	}
	if *hook != "" && err == nil {
		cfg.Webhook, err = server.ReadWebhook(*hook, *hookKey)
	}
	if err != nil {
		fmt.Fprintf(stderr, "bayhold serve: %v\n", err)
		return 1
	}
	how := identity{page: *pageAddr, cert: *certFile, key: *keyFile}
	if err := serve(ctx, cfg, *demo, how, *metrics, stdout); err != nil {
		fmt.Fprintf(stderr, "bayhold serve: %v\n", err)
		return 1
	}
	return 0
}

func serve(ctx context.Context, cfg server.Config, demo bool, how identity, metrics string, stdout io.Writer) error {
	what := "the shop in " + cfg.Data
	if demo {
		dir, err := os.MkdirTemp("", "bayhold-demo-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(dir)
		cfg.Data, what = dir, "the demo shop"
		if cfg.Shop, cfg.Seed, err = demoShop(); err != nil {
			return fmt.Errorf("the demo shop: %w", err)
		}
	}
	if cfg.Name == "" {
		return serveAt(ctx, cfg, "http", what, metrics, stdout, nil)
	}
	page, err := how.prove(&cfg)
	if err != nil {
		return err
	}
	return serveAt(ctx, cfg, "https", what, metrics, stdout, page)
}

// serveAt serves until ctx ends. The page, if there is one, is served beside
// it and said first; so is what Prometheus reads, where that is asked for.
func serveAt(ctx context.Context, cfg server.Config, scheme, what, metrics string, stdout io.Writer, page *certPage) error {
	s, err := server.Open(cfg)
	if err != nil {
		return err
	}
	if err := s.Listen(); err != nil {
		s.Close()
		return err
	}
	// The address as it was asked for: a page at localhost and one at 127.0.0.1
	// are two origins, each with a store of its own on the phone.
	host, _, _ := net.SplitHostPort(cfg.Addr)
	_, port, _ := net.SplitHostPort(s.Addr())
	if cfg.Name != "" {
		host = cfg.Name
	}
	fmt.Fprintf(stdout, "Serving %s at %s://%s\n", what, scheme, net.JoinHostPort(host, port))
	if cfg.Name == "" && len(cfg.Seed) == 0 { // not the demo
		fmt.Fprintf(stdout, "Only this machine opens it there. For phones on the shop's wifi stop it and start: bayhold serve --data %s --name shop.local\n", cfg.Data)
	}
	if page != nil {
		page.elder.Store(s.AddressesByElder())
		stop, err := page.serve(port, stdout)
		if err != nil {
			return errors.Join(err, s.Close())
		}
		defer stop()
	}
	if cfg.Name != "" {
		named, stop := context.WithCancel(ctx)
		defer stop()
		answerByName(named, cfg, append([]string{cfg.Name}, s.OldNames()...), s.Addr())
		sayLeft(stdout, s.Left(), s.Origin())
	}
	if metrics != "" {
		stop, err := serveMetrics(metrics, s.Metrics(), stdout)
		if err != nil {
			return errors.Join(err, s.Close())
		}
		defer stop()
	}
	if first, ok := s.FirstLead(); ok {
		showInvitation(stdout, "2. Then the lead's phone joins with this", cfg.Data, first)
	}
	return s.Run(ctx)
}
