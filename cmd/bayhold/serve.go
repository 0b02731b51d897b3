package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"syscall"

	"bayhold/server"
)

const serveHelp = `bayhold serve [--addr HOST:PORT] [--data DIR | --demo] [--trusted-network] [--verbose]

Serves the phone's app and keeps the shop's logbooks until it is stopped with
Ctrl-C or SIGTERM.

  --addr HOST:PORT   where to listen; localhost:8080
  --data DIR         the folder of the store and the photos, made if it is
                     missing; ./bayhold-data
  --demo             serves an invented shop on its Wednesday at 08:00, which is
                     now, from a folder that is deleted at the end
  --trusted-network  listen at an address that other machines can reach. There
                     is no log-in yet: whoever reaches it reads and writes
                     everything. Phones need HTTPS to work without signal.
  --verbose          log every socket and every write
`

// runServe is the serve command.
func runServe(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("serve", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	addr := fs.String("addr", "localhost:8080", "")
	data := fs.String("data", "", "")
	demo := fs.Bool("demo", false, "")
	trusted := fs.Bool("trusted-network", false, "")
	verbose := fs.Bool("verbose", false, "")
	if code, ok := parse(fs, args, serveHelp, stdout, stderr); !ok {
		return code
	}
	if *demo && *data != "" {
		fmt.Fprintln(stderr, "bayhold serve: --demo keeps nothing, so it goes without --data")
		return 2
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	level := slog.LevelInfo
	if *verbose {
		level = slog.LevelDebug
	}
	cfg := server.Config{Addr: *addr, Data: *data, TrustedNetwork: *trusted,
		Log: slog.New(slog.NewTextHandler(stderr, &slog.HandlerOptions{Level: level}))}
	if cfg.Data == "" {
		cfg.Data = "bayhold-data"
	}
	if err := serve(ctx, cfg, *demo, stdout); err != nil {
		fmt.Fprintf(stderr, "bayhold serve: %v\n", err)
		return 1
	}
	return 0
}

func serve(ctx context.Context, cfg server.Config, demo bool, stdout io.Writer) error {
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
	fmt.Fprintf(stdout, "Serving %s at http://%s\n", what, net.JoinHostPort(host, port))
	return s.Run(ctx)
}
