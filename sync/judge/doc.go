// Package judge is the decision of the shop's one writer on the lines that
// wait: what is kept and where, what is set aside and why, what is missing.
//
// It is a pure function of the store, the batch and a policy, so that every
// store behaves alike: Judge reads through a Ledger, and the store writes the
// verdicts that are Fresh, in the transaction that the Ledger reads from, and
// lets nobody hear of them before its fsync.
//
//	same name, same bytes        the verdict of the first time, receipt and all
//	same name, other bytes       set aside as a fork, never kept
//	seq beyond the next          a gap: send from the next
//	no entry, or policy says no  set aside with the sentence
//	otherwise                    kept: next order, next link of the chain
//
// A line that a phone brings back after a restore (Submission.Back) was judged
// when it came first: with a proof it is kept wherever its name is free, gap or
// not, and its receipt has the first one's times; without one it is set aside.
//
// Later lines of a batch see the earlier ones. A line that is set aside for
// its form uses up its seq, so that the ones behind it are not held up; it is
// stored by its hash outside every logbook.
package judge
