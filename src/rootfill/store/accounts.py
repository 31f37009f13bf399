"""Who may sign in, and who is signed in."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import delete, select
from sqlalchemy.orm import Session as Transaction

from rootfill.clinic.kept import Session, User
from rootfill.errors import InputRefused, NotFound
from rootfill.store.model import SessionRow, UserRow
from rootfill.store.transactions import Transactions


class Accounts:
    """The port ``rootfill.clinic.ports.Accounts`` on a database."""

    def __init__(self, transactions: Transactions) -> None:
        self._transactions = transactions

    def users(self) -> tuple[User, ...]:
        with self._transactions.reading() as transaction:
            return tuple(_user(row) for row in transaction.scalars(select(UserRow).order_by(UserRow.key)))

    def add_user(self, name: str, role: str, password_hash: str, at: dt.datetime) -> User:
        with self._transactions.writing() as transaction:
            if transaction.scalar(select(UserRow.key).where(UserRow.name == name)):
                raise InputRefused("name", name, "somebody has this name already: choose another")
            row = UserRow(name=name, role=role, password_hash=password_hash, made_at=at)
            transaction.add(row)
            transaction.flush()
            return _user(row)

    def set_password(self, user: int, password_hash: str) -> None:
        with self._transactions.writing() as transaction:
            _user_row(transaction, user).password_hash = password_hash

    def add_session(self, session: Session) -> None:
        with self._transactions.writing() as transaction:
            _user_row(transaction, session.user)
            transaction.add(
                SessionRow(
                    token_hash=session.token_hash,
                    user=session.user,
                    csrf=session.csrf,
                    made_at=session.made_at,
                    seen_at=session.seen_at,
                    locked=session.locked,
                )
            )

    def session(self, token_hash: str) -> tuple[Session, User] | None:
        with self._transactions.reading() as transaction:
            row = transaction.get(SessionRow, token_hash)
            return None if row is None else (_session(row), _user(_user_row(transaction, row.user)))

    def touch(self, token_hash: str, seen_at: dt.datetime, locked: bool) -> None:
        with self._transactions.writing() as transaction:
            row = transaction.get(SessionRow, token_hash)
            if row is None:
                raise NotFound("This session has ended: sign in again.")
            row.seen_at, row.locked = seen_at, locked

    def end_sessions(self, user: int, except_hash: str | None = None) -> None:
        with self._transactions.writing() as transaction:
            ended = delete(SessionRow).where(SessionRow.user == user)
            if except_hash is not None:
                ended = ended.where(SessionRow.token_hash != except_hash)
            transaction.execute(ended)

    def end_session(self, token_hash: str) -> None:
        with self._transactions.writing() as transaction:
            transaction.execute(delete(SessionRow).where(SessionRow.token_hash == token_hash))


def _user_row(transaction: Transaction, key: int) -> UserRow:
    row = transaction.get(UserRow, key)
    if row is None:
        raise NotFound(f"There is no user {key} here: sign in again.")
    return row


def _user(row: UserRow) -> User:
    return User(row.key, row.name, row.role, row.password_hash)


def _session(row: SessionRow) -> Session:
    return Session(row.token_hash, row.user, row.csrf, row.made_at, row.seen_at, row.locked)
