-- Kinds of fact of a case. What is allowed only grows, so no stored row needs
-- to be looked at again.
ALTER TABLE fact
    DROP CONSTRAINT fact_kind_check,
    ADD CONSTRAINT fact_kind_check CHECK (kind IN (
        'registered', 'inspected', 'gauged', 'cleaned', 'mated', 'parted', 'stored', 'tool-checked', 'held',
        'released', 'retired', 'replaced', 'refused', 'overridden', 'followed-up', 'corrected',
        'result-noted', 'case-opened', 'case-changed', 'end-disposed', 'result-disposed', 'case-closed'
    )) NOT VALID;

-- Cases are few among many facts.
CREATE INDEX fact_case ON fact (seq) WHERE kind = 'case-opened';
