#!/usr/bin/env python3
"""The main job with a client that was generated from the API document: an empty program is set up, and one car taken
from the first call to the paid invoice. Nothing here writes a request by hand; a misspelt field does not pass mypy.

Usage: tests/client/job.py ADDRESS SETUP-CODE PICTURE. tests/web/job.ts is the same journey in TypeScript.
"""
import datetime
import hashlib
import pathlib
import sys
import time
from typing import TypeVar

import baywright_client as api
from studio import Studio, euro, key, same, seen

BASE, CODE, PICTURE = sys.argv[1:]
studio = Studio(BASE, CODE)
desk, crew, accountant = studio.desk, studio.technician, studio.accountant
T = TypeVar("T")


def there(value: T | None) -> T:
    """What must be there."""
    assert value is not None
    return value


def mailed(about: str, kind: str) -> api.MessageWithText:
    """Waits until a mail about that record is sent, and gives it."""
    for _ in range(100):
        for message in desk.message.message_list(about_id=about, state=["SENT"]).items:
            if message.kind == kind:
                return desk.message.message_show(message.id)
        time.sleep(0.2)
    raise AssertionError(f"no mail of the kind {kind} was sent")


# --- the call, the customer, the car, what is found on it ------------------------------------------------------------
caller = api.EnquiryBodyCaller(
    name="Aoife Byrne", phone="+353 20 910 0000", email="aoife@example.com", may_mail=True)
call = desk.enquiry.enquiry_take(key(), api.EnquiryBody(
    caller=caller, vehicle="a silver estate", wish="A wash before Saturday"))
same("the call is noted", call.state, "OPEN")
call = desk.enquiry.enquiry_add_customer(call.id, seen(call), api.AddCustomerBody(kind="PRIVATE"))
customer = desk.customer.customer_show(there(call.customer_id))
same("the caller is a customer", (customer.name, customer.emails), ("Aoife Byrne", ["aoife@example.com"]))
vehicle = desk.vehicle.vehicle_create(key(), api.VehicleBody(
    customer_id=customer.id, registration="231-D-10101", registration_country="IE", make="Corrigan",
    model="Estate 2.0", year=2023, size_class="MEDIUM", paint_type="METALLIC"))
photo = crew.media.media_photos_create(key(), pathlib.Path(PICTURE).read_bytes(), _content_type="image/png")
kept = crew.media.media_photos_show(photo.id)
same("the photograph has its digest", hashlib.sha256(kept).hexdigest(), photo.digest)


def looked(stage: str, finding: api.FindingBody) -> api.InspectionView:
    """An inspection of the car with one finding, completed."""
    begun = crew.inspection.inspection_create(key(), api.InspectionBody(
        vehicle_id=vehicle.id, stage=stage, odometer=48210, soil_grade=2, contamination_grade=1, findings=[finding],
        readings=[api.ReadingsBody(panel=finding.panel, micrometres=[120, 118, 125])]))
    return crew.inspection.inspection_complete(begun.id, seen(begun))


before = looked("BEFORE_WORK", api.FindingBody(
    panel="BONNET", kind="SWIRLS", severity="MINOR", note="under the lamp", photo_ids=[photo.id]))
same("the car is looked at", (before.state, before.findings[0].photo_ids), ("COMPLETED", [photo.id]))


# --- offered, sent, signed -------------------------------------------------------------------------------------------
def line(service: str) -> api.DraftLine:
    return api.DraftLine(item=api.DraftItem(api.DraftItemService(service=service)))


offer = desk.quote.quote_create(key(), api.QuoteBody(
    vehicle_id=vehicle.id, draft=api.QuoteDraft(inspection_id=before.id, lines=[line("wash")])))
totals = there(there(offer.latest.document).required_totals)
same("the wash has its price", totals.payable, euro("80.00"))
sent = desk.quote.quote_send(offer.id, seen(offer), api.QuoteSendBody(by_mail=True))
mail = mailed(offer.id, "quote.sent")
same("the quote is mailed", (mail.to_email, offer.number in mail.subject), ("aoife@example.com", True))
call = desk.enquiry.enquiry_quoted(call.id, seen(call), api.QuotedBody(quote_id=offer.id))


def yes(digest: str | None) -> api.QuoteSignOffBody:
    """What the customer says on the phone to the document with that digest."""
    return api.QuoteSignOffBody(digest=there(digest), name="Aoife Byrne", agreed=True, early_start=True)


signed = desk.quote.quote_sign_off(offer.id, seen(sent), yes(sent.latest.digest))
same("the quote is signed", (signed.latest.state, there(signed.latest.signoff).method), ("SIGNED", "PHONE"))
call = desk.enquiry.enquiry_close(call.id, seen(call), api.CloseBody(reason="WON"))
same("the call is closed", (call.state, call.quote_id), ("CLOSED", offer.id))

# --- planned and booked ----------------------------------------------------------------------------------------------
plan = desk.plan.plan_show(offer.id)
same("the plan is in order", [step.code for step in plan.work.steps], ["rinse", "final"])
now = datetime.datetime.now(datetime.UTC).replace(microsecond=0)
free = desk.booking.booking_availability(offer.id, var_from=now, count=3)
first = free.times[0]
booking = desk.booking.booking_create(key(), api.BookingBody(
    quote_id=offer.id, bay_id=first.bay_id, start=first.start, hold=False, note=""))
same("the place is booked", (booking.state, booking.finish), ("BOOKED", first.finish))

# --- done: every step is started and finished, and more work is agreed on between two of them ------------------------
# The first free time may be on another day than this one.
booking = crew.job.job_arrive(booking.id, seen(booking), key(), confirm="arrival-on-another-day")
same("the car is in its bay", booking.state, "IN_BAY")
(job_id,) = (job.id for job in crew.job.job_list(mine=True, open=True).items if job.booking_id == booking.id)


def done(code: str) -> None:
    """Does a step, with a pause in it, and uses what the plan says."""
    step = crew.job.job_steps_show(job_id, code)
    used = [api.UsedProductBody(product=dose.product, amount=dose.amount) for dose in step.products]
    step = crew.job.job_start(job_id, code, seen(step), api.DoerBody())
    step = crew.job.job_stop(job_id, code, seen(step), api.DoerBody())
    step = crew.job.job_start(job_id, code, seen(step), api.DoerBody())
    step = crew.job.job_finish(job_id, code, seen(step), api.FinishBody(used=used))
    pieces = [(piece.person_id, piece.finish is None) for piece in step.pieces]
    same(f"{code} is done, in two pieces of time", (step.state, pieces, len(step.used)),
         ("FINISHED", [(crew.id, False)] * 2, len(used)))


done("rinse")
clean = looked("AFTER_WASH", api.FindingBody(panel="ROOF", kind="SCRATCHES", severity="MODERATE"))
change = desk.variation.variation_create(offer.id, key(), api.VariationDraft(
    reason="Scratches that dirt hid.", inspection_id=clean.id, lines=[line("polish")]))
change = desk.variation.variation_send(change.id, seen(change), key(), api.QuoteSendBody(by_mail=True))
change = desk.variation.variation_sign_off(change.id, seen(change), key(), yes(change.digest))
same("the variation is signed", (change.state, change.change), ("SIGNED", euro("250.00")))
left = [step.code for step in crew.job.job_show(job_id).steps if step.state == "OPEN"]
same("its work joins the job", left, ["machine", "final"])
for code in left:
    done(code)

# --- handed over -----------------------------------------------------------------------------------------------------
booking = crew.job.job_ready(booking.id, f'"{crew.job.job_show(job_id).booking_version}"', key())
booking = crew.job.job_hand_over(booking.id, seen(booking), key(), api.HandoverBody(
    received_by="Aoife Byrne", odometer=48215, aftercare="Keep it dry.", note="",
    checklist=[api.CheckedBody(what="Keys", done=True)]))
same("the car is handed over", booking.state, "HANDED_OVER")
handover = crew.job.job_hand_over_show(booking.id)
same("what was said is kept", (handover.person_id, handover.odometer), (crew.id, 48215))

# --- invoiced, mailed and paid ---------------------------------------------------------------------------------------
bill = desk.invoice.invoice_create(key(), api.InvoiceBody(quote_id=offer.id))
sums = bill.document.totals
# 80.00 + 250.00 with 23 % of tax in it: 330.00 / 1.23 = 268.29 and 268.29 × 0.23 = 61.71, by hand.
same("the invoice has both", (sums.net, sums.tax, sums.payable), (euro("268.29"), euro("61.71"), euro("330.00")))
issued = desk.invoice.invoice_issue(bill.id, seen(bill), key())
sealed = accountant.invoice.invoice_sealed(issued.id)
same("it is sealed under its number", (sealed.number, sealed.totals.payable), (issued.number, euro("330.00")))
desk.invoice.invoice_send(issued.id, seen(issued), key())
letter = mailed(issued.id, "invoice.sent")
same("the invoice is mailed", (letter.to_email, bool(letter.attachments)), ("aoife@example.com", True))
for method, amount, state, rest in (("CARD", "100.00", "PART_PAID", "230.00"), ("TRANSFER", "230.00", "PAID", "0.00")):
    desk.payment.payment_record(key(), api.PaymentBody(
        customer_id=customer.id, method=method, amount=euro(amount), invoice_ids=[issued.id]))
    invoice = accountant.invoice.invoice_show(issued.id)
    same(f"{amount} came, the invoice is {state}", (invoice.state, invoice.open), (state, euro(rest)))
account = accountant.payment.payment_account(customer.id)
same("nothing is owed", (account.open, account.credit), (euro("0.00"), euro("0.00")))
