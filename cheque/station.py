"""What a batch is printed with: its form as accepted, its account, a printer, and the shift kept for the two."""

from cheque import device, run
from cheque.book import batches
from cheque.book.book import Reader
from cheque.book.shifts import shift_of
from cheque.errors import InputRefused, RunStopped, UsageRefused
from cheque.form.model import Form
from cheque.run import Setting
from cheque.settings import Account, PrinterSettings, Settings
from cheque.tongue import tr


def the_account(found: Settings, name: str | None) -> Account:
    """The account named, or the only one there is. UsageRefused when there are several to choose from."""
    if name:
        return found.account(name)
    if len(found.accounts) == 1:
        return next(iter(found.accounts.values()))
    if not found.accounts:
        raise InputRefused(tr("{source} has no account: add [accounts.main].", source=found.source))
    raise UsageRefused(tr("which account? --account with one of {accounts}.", accounts=", ".join(found.accounts)))


def the_printer(found: Settings, name: str | None) -> PrinterSettings:
    """The printer named, or the only one there is. UsageRefused when there are several to choose from."""
    if name:
        return found.printer(name)
    if len(found.printers) == 1:
        return next(iter(found.printers.values()))
    if not found.printers:
        raise InputRefused(tr("{source} has no printer: add [printers.payroom].", source=found.source))
    raise UsageRefused(tr("which printer? --printer with one of {printers}.", printers=", ".join(found.printers)))


def account_of(found: Settings, batch: batches.Batch) -> Account:
    """The account of a batch. InputRefused when its currency is no longer the one the batch was accepted in."""
    account = found.account(batch.account)
    if account.currency != batch.currency:
        raise InputRefused(
            tr(
                "batch {id} was accepted in {currency}, but account {name} is now in {currency2} in {source}. "
                "Set the currency back, or withdraw the batch and accept it anew.",
                id=batch.id,
                currency=batch.currency,
                name=account.name,
                currency2=account.currency,
                source=found.source,
            )
        )
    return account


def form_of(reader: Reader, batch: batches.Batch) -> Form:
    """The form definition that was accepted with a batch, whatever the file says now."""
    from cheque.form import from_text

    return from_text(reader.content(batch.form_digest))


def printer_for(
    found: Settings, form: Form, batch: batches.Batch, name: str | None, *, only: bool = False
) -> PrinterSettings:
    """The printer named, or the first in the settings that can print the form. InputRefused when none can.

    With `only` the first is taken when no other can: where paper is struck, nothing is chosen in silence.
    """
    if name or len(found.printers) == 1:
        return the_printer(found, name)
    account = account_of(found, batch)
    good: list[PrinterSettings] = []
    reasons = []
    for printer in found.printers.values():
        why = run.unable(run.setting(form, account, printer), printer.parts)
        if not why:
            good.append(printer)
            continue
        reasons.append(f"{printer.name}: {'; '.join(why)}")
    if good and only and len(good) > 1:
        raise UsageRefused(
            tr("which printer? --printer with one of {list}.", list=", ".join(printer.name for printer in good))
        )
    if good:
        return good[0]
    raise InputRefused(
        tr(
            "no printer can print {name}: {reasons}.",
            name=form.name,
            reasons=" | ".join(reasons) or tr("there is none in the settings"),
        )
    )


def setting_of(found: Settings, reader: Reader, batch: batches.Batch, printer: str | None) -> Setting:
    """The setting of a batch on a printer. InputRefused when that printer cannot print its form."""
    form = form_of(reader, batch)
    chosen = printer_for(found, form, batch, printer)
    account = account_of(found, batch)
    setting = run.setting(form, account, chosen, shift_of(reader, chosen.name, form.name))
    why = run.unable(setting, chosen.parts)
    if why:
        raise InputRefused(
            tr(
                "{name} cannot print {name2}: {why}. Choose another printer.",
                name=chosen.name,
                name2=form.name,
                why="; ".join(why),
            )
        )
    return setting


def open_printer(printer: PrinterSettings) -> device.Device:
    """Open the way to a printer. RunStopped, nothing having happened, when it cannot be reached."""
    try:
        return device.kind_of(printer.address).open_device(printer.address, stall=float(printer.patience))
    except device.DeviceError as error:
        raise RunStopped(tr("nothing was sent and no number was used: {error}", error=error)) from None
