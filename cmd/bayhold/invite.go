package main

import (
	"flag"
	"fmt"
	"io"
	"time"

	"bayhold/server"
)

const inviteHelp = `bayhold invite --data DIR [--role lead|crew]

Shows an invitation to the shop that a running server serves: a code for a
phone's camera and eight letters and digits to type. It is good for one phone
and ten minutes. The lead's phone shows invitations too; this is for the first
one, and for a lead whose phone is lost.

  --data DIR   the data folder of the running server
  --role ROLE  lead, the lead's own phone, from which a lead's acts count; or
               crew; lead
`

// runInvite is the invite command.
func runInvite(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("invite", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	data, role := fs.String("data", "", ""), fs.String("role", "lead", "")
	if code, ok := parse(fs, args, inviteHelp, stdout, stderr, "data"); !ok {
		return code
	}
	if *role != "lead" && *role != "crew" {
		fmt.Fprintf(stderr, "bayhold invite: a phone joins as lead or crew, not as %q\n", *role)
		return 2
	}
	i, err := server.AskInvitation(*data, *role)
	if err != nil {
		fmt.Fprintf(stderr, "bayhold invite: %v\n", err)
		return 1
	}
	showInvitation(stdout, "A phone joins the shop as "+*role+" with this", *data, i)
	return 0
}

// showInvitation shows it on the terminal.
func showInvitation(w io.Writer, what, data string, i server.Invitation) {
	fmt.Fprintf(w, "%s, until %s: %s\n\n%s\nOr open the app and type the code %s\nOnce it is over, this shows another, in another window: bayhold invite --data %s\n\n",
		what, time.UnixMilli(i.Until).Format("15:04"), i.URL, terminalQR(i.URL), i.Code, data)
}
