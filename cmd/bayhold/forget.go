package main

import (
	"flag"
	"fmt"
	"io"
	"time"

	"bayhold/server"
)

const forgetHelp = `bayhold forget --data DIR (--job NAME | --due | --person NAME) [--as LEAD --yes]

Erases what is known of people: of a vehicle that was handed over its customer,
label, plate, vehicle and fleet number, the owner's and driver's signatures, all
notes, photos and spoken notes; of someone who left the crew the name. Without
--yes it lists what would go, each line with its hash, and changes nothing. It
may be run beside a server.

The work stays: every step, reading, finding and go-ahead with its time and who
of the crew did it, the sentences of go-aheads too. Of a line that goes its hash
stays, so the chain and the seals of records hold, and a line in the lead's name
says what went. Phones erase it too, each as soon as it hears of it.

It does not reach what left the shop's hands: backups made before, saved records,
papers, exports. A backup from before erases again after a restore, when a phone
brings that line. Delete old backups when their time is over. The law of the
place and the guarantee say what has to be kept, and for how long.

  --data DIR     the data folder
  --job NAME     the vehicle by what it is found by (plate, customer, ...), or its id
  --due          every vehicle whose time is over by the shop's rule keep_days:
                 that many days after the longest guarantee of its films, or after
                 hand-over if they have none. The lead sets it in the shop's
                 numbers; 0, with which a shop begins, keeps all
  --person NAME  of the crew: name, initials or id
  --as LEAD      in the name of this lead: name, initials or id
  --yes          erase; it cannot be taken back
`

// runForget is the forget command.
func runForget(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("forget", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	data, as := fs.String("data", "", ""), fs.String("as", "", "")
	var ask server.Ask
	fs.StringVar(&ask.Job, "job", "", "")
	fs.StringVar(&ask.Person, "person", "", "")
	fs.BoolVar(&ask.Due, "due", false, "")
	yes := fs.Bool("yes", false, "")
	if code, ok := parse(fs, args, forgetHelp, stdout, stderr, "data"); !ok {
		return code
	}
	n := 0
	for _, is := range []bool{ask.Job != "", ask.Person != "", ask.Due} {
		if is {
			n++
		}
	}
	if n != 1 {
		fmt.Fprintln(stderr, "bayhold forget: say --job, --due or --person, one of them")
		return 2
	}
	if *yes && *as == "" {
		fmt.Fprintln(stderr, "bayhold forget: --yes takes --as LEAD: the line that says what went is in a lead's name")
		return 2
	}
	told, err := "", error(nil)
	if *yes {
		told, err = server.Forget(*data, ask, *as)
	} else {
		told, err = wouldForget(*data, ask)
	}
	fmt.Fprint(stdout, told)
	switch {
	case err != nil:
		fmt.Fprintf(stderr, "bayhold forget: %v\n", err)
		return 1
	case told == "":
		fmt.Fprintln(stderr, "Nothing is there to erase.")
	case *yes:
		fmt.Fprintln(stderr, "Erased here; phones follow when they hear of it. Backups and records made before still have it.")
	default:
		fmt.Fprintln(stderr, "Nothing was changed. To erase this, say --as LEAD --yes. It cannot be taken back.")
	}
	return 0
}

func wouldForget(data string, ask server.Ask) (string, error) {
	st, err := server.Look(data)
	if err != nil {
		return "", err
	}
	defer st.Close()
	list, err := st.Forgettings(ask, time.Now())
	return server.Told(list, time.UTC), err
}
